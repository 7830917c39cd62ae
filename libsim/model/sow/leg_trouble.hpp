#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Leg or structural trouble at loading. Survival holds what it does to her piglets.
/// Equation:
///   lame if uniform < prevalence
///   appetite [-] = legs.appetite_multiplier if lame, else 1
/// Where: lame [-] leg or structural trouble; uniform [-] draw in 0-1, of the sow
/// Valid: loading to weaning
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
