#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// How fast a crate's drinker runs and how often it clogs (common practice and assumption; no published hazard).
class DrinkerRules {
 public:
  explicit DrinkerRules(const Coefficients& coefficients);
  /// Flow of one crate [L/min], lognormal with the given mean and coefficient of variation; z is standard normal.
  double flow_l_per_min(double mean_l_per_min, double cv, double z) const;
  /// Hazards of a clean drinker [1/d].
  double partial_blockage_per_day() const { return partial_blockage_per_day_; }
  double full_blockage_per_day() const { return full_blockage_per_day_; }
  /// Part of its flow that a partial blockage leaves.
  double partial_blockage_flow_share() const { return partial_blockage_flow_share_; }

 private:
  double partial_blockage_per_day_, full_blockage_per_day_, partial_blockage_flow_share_;
};

}  // namespace farrowtide
