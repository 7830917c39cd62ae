#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Drinker flow rate of a crate and hazard of blockage (no published hazard).
/// Equation:
///   flow [L/min] = flow_mean * exp(s * z - s^2 / 2)
///   s [log] = sqrt(ln(1 + cv^2))
///   hazard [1/d] = partial_block_hazard 'to' partial_block_flow_share 'of its flow;' full_block_hazard 'to no flow'
/// Where: flow_mean [L/min] of the scenario; cv [-] coefficient of variation between crates; z [-] standard normal draw
///   per crate
/// Valid: clean drinkers; a blockage lasts until a check finds it
/// Source: assumption
class DrinkerRules {
 public:
  explicit DrinkerRules(const Coefficients& coefficients);
  /// Flow rate of one crate [L/min], lognormal with the given mean and coefficient of variation; z is standard normal.
  double flow_l_per_min(double mean_l_per_min, double cv, double z) const;
  /// Hazards of a clean drinker [1/d].
  double partial_blockage_per_day() const { return partial_blockage_per_day_; }
  double full_blockage_per_day() const { return full_blockage_per_day_; }
  /// Share of flow remaining under a partial blockage.
  double partial_blockage_flow_share() const { return partial_blockage_flow_share_; }

 private:
  double partial_blockage_per_day_, full_blockage_per_day_, partial_blockage_flow_share_;
};

}  // namespace farrowtide
