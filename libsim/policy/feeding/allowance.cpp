#include "libsim/policy/feeding/allowance.hpp"

#include <algorithm>
#include <iterator>
#include <sstream>

namespace farrowtide {
namespace {

// Bounds of what may be asked for at all, not of what is wise.
constexpr double most_feed_kg_per_day = 20;

bool is_round(const std::vector<Duration>& rounds, Duration round) {
  return std::binary_search(rounds.begin(), rounds.end(), round);
}

}  // namespace

DailyAllowance DailyAllowance::read(Section& section) {
  DailyAllowance allowance;
  allowance.rule_ = section.choice({.name = "rule", .standard = "step_up", .help = "How the daily allowance develops."},
                                   std::vector<std::pair<std::string, Rule>>{
                                       {"step_up", Rule::step_up}, {"flat", Rule::flat}, {"by_day", Rule::by_day}});
  const double start = section.number({.name = "start",
                                       .unit = "kg/d",
                                       .low = 0,
                                       .high = most_feed_kg_per_day,
                                       .help = "Step-up: allowance on lactation day 1.",
                                       .coefficient = "sow.feeding_practice.step_up_start"});
  const double step = section.number({.name = "step",
                                      .unit = "kg/d",
                                      .low = 0,
                                      .high = most_feed_kg_per_day,
                                      .help = "Step-up: added each day.",
                                      .coefficient = "sow.feeding_practice.step_up_step"});
  const double most = section.number({.name = "most",
                                      .unit = "kg/d",
                                      .low = 0,
                                      .high = most_feed_kg_per_day,
                                      .help = "Step-up: never more than this.",
                                      .coefficient = "sow.feeding_practice.step_up_most"});
  const double flat = section.number({.name = "amount",
                                      .unit = "kg/d",
                                      .low = 0,
                                      .high = most_feed_kg_per_day,
                                      .help = "Flat: allowance on every day.",
                                      .coefficient = "sow.feeding_practice.flat_amount"});
  const bool steps = allowance.rule_ == Rule::step_up;
  allowance.start_kg_per_day_ = steps ? start : flat;
  allowance.step_kg_per_day_ = steps ? step : 0;
  allowance.most_kg_per_day_ = steps ? most : flat;
  allowance.farrowing_day_share_ =
      section.number({.name = "farrowing_day_share",
                      .low = 0,
                      .high = 1,
                      .help = "Part of the first day's allowance given on the farrowing day.",
                      .coefficient = "sow.feeding_practice.farrowing_day_share"});
  allowance.kg_by_day_ =
      section
          .optional_numbers({.name = "amounts",
                             .unit = "kg/d",
                             .low = 0,
                             .high = most_feed_kg_per_day,
                             .least = 1,
                             .most = 60,
                             .help = "By day: allowance on lactation day 1, 2 and so on; the last one stays."})
          .value_or(std::vector<double>{});
  if (allowance.rule_ == Rule::by_day && allowance.kg_by_day_.empty())
    section.refuse("rule", "needs the amounts of each day", "amounts: [2.0, 2.5, 3.0]");
  return allowance;
}

double DailyAllowance::kg_per_day(int lactation_day) const {
  if (lactation_day <= 0) return farrowing_day_share_ * kg_per_day(1);
  if (rule_ == Rule::by_day) {
    const auto day = std::min(static_cast<std::size_t>(lactation_day), kg_by_day_.size());
    return kg_by_day_[day - 1];
  }
  return std::min(most_kg_per_day_, start_kg_per_day_ + step_kg_per_day_ * (lactation_day - 1));
}

std::string DailyAllowance::describe() const {
  std::ostringstream text;
  if (rule_ == Rule::flat) {
    text << start_kg_per_day_ << " kg/d";
  } else if (rule_ == Rule::by_day) {
    text << "given day by day, from " << kg_by_day_.front() << " to " << kg_by_day_.back() << " kg/d";
  } else {
    text << start_kg_per_day_ << " kg/d on day 1, " << step_kg_per_day_ << " kg more each day up to "
         << most_kg_per_day_ << " kg/d";
  }
  return text.str();
}

PreFarrowFeeding PreFarrowFeeding::read(Section& section) {
  PreFarrowFeeding feeding;
  feeding.rounds = section.times_of_day({.name = "times",
                                         .least = 1,
                                         .most = 6,
                                         .standard = std::vector<std::string>{"07:00", "15:00"},
                                         .help = "Clock times of the feeds before farrowing."});
  feeding.allowance_kg_per_day = section.number({.name = "allowance",
                                                 .unit = "kg/d",
                                                 .low = 0,
                                                 .high = most_feed_kg_per_day,
                                                 .help = "Feed a day until she has farrowed, in equal parts.",
                                                 .coefficient = "sow.feeding_practice.pre_farrow_allowance"});
  return feeding;
}

std::optional<FeedingDecision> PreFarrowFeeding::decide(const FeedingView& view) const {
  if (!is_round(rounds, view.round)) return std::nullopt;
  return FeedingDecision{FeedAccess::by_hand, allowance_kg_per_day / static_cast<double>(rounds.size())};
}

std::optional<FeedingDecision> LactationFeeding::decide(const FeedingView& view) const {
  if (!is_round(rounds, view.round)) return std::nullopt;
  return FeedingDecision{FeedAccess::by_hand, allowance.kg_per_day(view.day) / static_cast<double>(rounds.size())};
}

std::vector<Duration> merged(std::span<const Duration> one, std::span<const Duration> other) {
  std::vector<Duration> all;
  std::set_union(one.begin(), one.end(), other.begin(), other.end(), std::back_inserter(all));
  return all;
}

}  // namespace farrowtide
