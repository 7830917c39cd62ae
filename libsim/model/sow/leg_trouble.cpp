#include "libsim/model/sow/leg_trouble.hpp"

#include <cmath>

namespace farrowtide {

LegTrouble::LegTrouble(const Coefficients& coefficients)
    : prevalence_(coefficients.number("sow.legs.prevalence", "-")),
      appetite_multiplier_(coefficients.number("sow.legs.appetite_multiplier", "-")),
      recovery_per_day_(coefficients.number("sow.legs.recovery_treated", "1/d")) {}

bool LegTrouble::has_it(double uniform, double herd_level_logit) const {
  return uniform * (prevalence_ + (1 - prevalence_) * std::exp(-herd_level_logit)) < prevalence_;
}

}  // namespace farrowtide
