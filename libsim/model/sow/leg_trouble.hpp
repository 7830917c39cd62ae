#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Leg or structural problems at loading. The effect on her piglets is in Survival.
/// Equation:
///   lame if uniform < p
///   p [-] = 1 / (1 + (1 - prevalence) / prevalence * exp(-level))
///   appetite [-] = legs.appetite_multiplier if lame, else 1
/// Where: lame [-] leg or structural problems; uniform [-] uniform draw between 0 and 1, one per sow;
///   level [logit] of the herd, 0 by default
/// Valid: from loading to weaning
/// Source: assumption
class LegTrouble {
 public:
  explicit LegTrouble(const Coefficients& coefficients);
  bool has_it(double uniform, double herd_level_logit = 0) const;
  double appetite_multiplier() const { return appetite_multiplier_; }

 private:
  double prevalence_, appetite_multiplier_;
};

}  // namespace farrowtide
