#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Leg or structural trouble at loading (prevalence and size assumed). Survival holds what it does to her piglets.
class LegTrouble {
 public:
  explicit LegTrouble(const Coefficients& coefficients);
  bool has_it(double uniform) const { return uniform < prevalence_; }
  double appetite_multiplier() const { return appetite_multiplier_; }

 private:
  double prevalence_, appetite_multiplier_;
};

}  // namespace farrowtide
