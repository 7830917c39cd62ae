#include "libsim/policy/handling/processing_days.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace farrowtide {

ProcessingDays::ProcessingDays(std::vector<int> days, const Coefficients& coefficients)
    : days_(std::move(days)),
      late_from_day_(static_cast<int>(std::lround(coefficients.number("staff.late.processing_late_from_day", "d")))) {}

double ProcessingDays::share_of_processing(const HandlingView& view) const {
  return std::ranges::binary_search(days_, view.lactation_day) ? 1 / static_cast<double>(days_.size()) : 0;
}

std::string ProcessingDays::describe() const {
  std::string text = days_.size() == 1 ? "day " : "days ";
  for (std::size_t i = 0; i < days_.size(); ++i) text += (i > 0 ? ", " : "") + std::to_string(days_[i]);
  return days_.back() < late_from_day_ ? text : text + ", late from day " + std::to_string(late_from_day_) + " on";
}

}  // namespace farrowtide
