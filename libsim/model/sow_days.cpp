#include "libsim/model/sow_days.hpp"

#include <algorithm>
#include <numeric>

#include "libsim/record/table.hpp"

namespace farrowtide {
namespace {

auto first_after(std::span<const SowDay> days, int calendar_day) {
  return std::ranges::upper_bound(days, calendar_day, {}, &SowDay::calendar_day);
}

}  // namespace

LactationDays::LactationDays(std::span<const SowDay> stay, int day_0)
    : days_{first_after(stay, day_0), stay.end()}, day_0_{day_0} {}

LactationDays LactationDays::until(int last_lactation_day) const {
  LactationDays early = *this;
  early.days_ = {days_.begin(), first_after(days_, day_0_ + last_lactation_day)};
  return early;
}

double LactationDays::mean(double SowDay::*field) const {
  if (days_.empty()) return missing;
  const double sum = std::accumulate(days_.begin(), days_.end(), 0.0,
                                     [&](double so_far, const SowDay& day) { return so_far + day.*field; });
  return sum / static_cast<double>(days_.size());
}

double LactationDays::meals_per_day() const {
  if (days_.empty()) return missing;
  const double meals = std::accumulate(days_.begin(), days_.end(), 0.0,
                                       [](double so_far, const SowDay& day) { return so_far + day.meals; });
  return meals / static_cast<double>(days_.size());
}

int LactationDays::count_below(double eaten_kg) const {
  return static_cast<int>(std::ranges::count_if(days_, [&](const SowDay& day) { return day.eaten_kg < eaten_kg; }));
}

int LactationDays::count_without_feed() const {
  return static_cast<int>(std::ranges::count_if(days_, [](const SowDay& day) { return day.eaten_kg <= 0; }));
}

}  // namespace farrowtide
