#include "libsim/model/sow/leg_trouble.hpp"

namespace farrowtide {

LegTrouble::LegTrouble(const Coefficients& coefficients)
    : prevalence_(coefficients.number("sow.legs.prevalence", "-")),
      appetite_multiplier_(coefficients.number("sow.legs.appetite_multiplier", "-")) {}

}  // namespace farrowtide
