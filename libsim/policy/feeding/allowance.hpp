// How much a hand-fed sow is allowed a day.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "libsim/policy/feeding/feeding.hpp"
#include "libsim/scenario/section.hpp"

namespace farrowtide {

// Feed allowed on a lactation day [kg/d]: rising by a step to a ceiling, flat, or day by day.
class DailyAllowance {
 public:
  static DailyAllowance read(Section& section);

  // Lactation day 0 or later. On the farrowing day, a share of the first day's allowance.
  double kg_per_day(int lactation_day) const;
  std::string describe() const;

 private:
  enum class Rule { step_up, flat, by_day };
  Rule rule_ = Rule::step_up;
  double start_kg_per_day_ = 0, step_kg_per_day_ = 0, most_kg_per_day_ = 0;
  double farrowing_day_share_ = 0;
  std::vector<double> kg_by_day_;  // from day 1; the last holds from then on
};

// How sows are fed between loading and farrowing, the same under every policy unless the scenario says otherwise.
struct PreFarrowFeeding {
  std::vector<Duration> rounds;
  double allowance_kg_per_day = 0;

  static PreFarrowFeeding read(Section& section);
  // At one of her rounds; nothing at another.
  std::optional<FeedingDecision> decide(const FeedingView& view) const;
};

// Feeding by hand once she has farrowed.
struct LactationFeeding {
  std::vector<Duration> rounds;
  DailyAllowance allowance;

  std::optional<FeedingDecision> decide(const FeedingView& view) const;
};

// Both timetables in one, rising, each time once.
std::vector<Duration> merged(std::span<const Duration> one, std::span<const Duration> other);

}  // namespace farrowtide
