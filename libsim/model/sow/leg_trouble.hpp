#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Leg or structural problems at loading. The effect on her piglets is in Survival.
/// Equation:
///   lame if uniform < prevalence
///   appetite [-] = legs.appetite_multiplier if lame, else 1
/// Where: lame [-] leg or structural problems; uniform [-] uniform draw between 0 and 1, one per sow
/// Valid: from loading to weaning
/// Source: assumption
class LegTrouble {
 public:
  explicit LegTrouble(const Coefficients& coefficients);
  bool has_it(double uniform) const { return uniform < prevalence_; }
  double appetite_multiplier() const { return appetite_multiplier_; }

 private:
  double prevalence_, appetite_multiplier_;
};

}  // namespace farrowtide
