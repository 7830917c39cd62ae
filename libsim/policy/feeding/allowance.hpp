// The daily allowance of a sow that is fed in portions.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "libsim/policy/feeding/feeding.hpp"
#include "libsim/scenario/section.hpp"

namespace farrowtide {

// The limit of what is allowed, not of what is advisable.
inline constexpr double max_feed_kg_per_day = 20;

// Feed allowed on a lactation day [kg/d]: rising by a step to a ceiling, flat, day by day, or, by trough, the rising
// curve plus a sow's own deviation from it, which is raised and lowered by what is left in her trough in the morning.
class DailyAllowance {
 public:
  static DailyAllowance read(Section& section);

  // Lactation day 0 or later, of a sow without an allowance of her own. On the farrowing day, a share of the first
  // day's allowance.
  double kg_per_day(int lactation_day) const;
  // The same of a sow whose own allowance was set on `set_on_day`, if any.
  double kg_per_day(int lactation_day, std::optional<double> own_kg_per_day, int set_on_day) const;

  // What a sow of this parity is given on top [kg/d]; negative: less.
  double change_of_parity(int parity) const;

  bool adjusts() const { return rule_ == Rule::by_trough; }
  // Her allowance from now on, and whether she is flagged; empty for rules that do not adjust.
  TroughDecision at_trough_check(const TroughView& view) const;

  std::string describe() const;

 private:
  enum class Rule { step_up, flat, by_day, by_trough };
  friend constexpr auto names(Rule) {
    using enum Rule;
    return std::to_array<Name<Rule>>(
        {{step_up, "step_up"}, {flat, "flat"}, {by_day, "by_day"}, {by_trough, "by_trough"}});
  }
  struct ByTrough {
    double raise_kg_per_day = 0, lower_kg_per_day = 0, min_kg_per_day = 0;
    double empty_share = 0, untouched_share = 0;  // left, of what was offered: up to, from

    static ByTrough read(Section& section);
    double change_kg_per_day(double left_share) const;
  };

  Rule rule_ = Rule::step_up;
  double start_kg_per_day_ = 0, step_kg_per_day_ = 0, max_kg_per_day_ = 0;
  double farrowing_day_share_ = 0;
  std::vector<double> kg_by_day_;         // from day 1; the last holds from then on
  std::vector<double> change_by_parity_;  // from parity 1; the last holds from then on
  ByTrough by_trough_;
};

}  // namespace farrowtide
