#include "libsim/model/sow/signs.hpp"

#include <cmath>

#include "libsim/kernel/errors.hpp"

namespace farrowtide {

Signs::Signs(const Coefficients& coefficients)
    : nursing_{coefficients.number("sow.signs.nursing_sensitivity", "-"),
               coefficients.number("sow.signs.nursing_specificity", "-")},
      udder_{coefficients.number("sow.signs.udder_sensitivity", "-"),
             coefficients.number("sow.signs.udder_specificity", "-")},
      legs_{coefficients.number("sow.signs.legs_sensitivity", "-"),
            coefficients.number("sow.signs.legs_specificity", "-")} {}

const Signs::Look& Signs::look(Sign sign) const {
  switch (sign) {
    case Sign::nursing:
      return nursing_;
    case Sign::udder:
      return udder_;
    case Sign::legs:
      return legs_;
    default:
      throw InternalError("a temperature is measured, and eating is seen by the trough");
  }
}

double Signs::probability(Sign sign, Condition condition) const {
  const double false_sign = 1 - look(sign).specificity;
  return condition == Condition::absent ? false_sign : false_sign + (1 - false_sign) * look(sign).sensitivity;
}

bool Signs::seen(Sign sign, Condition condition, double uniform, double own_uniform) const {
  const Look& at = look(sign);
  return own_uniform < 1 - at.specificity || (condition == Condition::present && uniform < at.sensitivity);
}

IntakeSeen::IntakeSeen(const Coefficients& coefficients)
    : eaten_sd_(coefficients.number("sow.signs.eaten_sd", "log")),
      eaten_sd_without_readings_(coefficients.number("sow.signs.eaten_sd_without_readings", "log")),
      drunk_sd_(coefficients.number("sow.signs.drunk_sd", "log")),
      off_feed_share_(coefficients.number("sow.signs.off_feed_share", "-")),
      off_water_share_(coefficients.number("sow.signs.off_water_share", "-")),
      untouched_share_(coefficients.number("sow.signs.untouched_share", "-")),
      least_to_judge_kg_(coefficients.number("sow.signs.least_to_judge", "kg")),
      sensitivity_(coefficients.number("sow.signs.not_eaten_or_drunk_sensitivity", "-")) {}

double IntakeSeen::eaten_kg(double eaten_kg, IntakeMeter meter, double z) const {
  return eaten_kg * std::exp((meter == IntakeMeter::portions ? eaten_sd_ : eaten_sd_without_readings_) * z);
}

double IntakeSeen::drunk_l(double drunk_l, double z) const { return drunk_l * std::exp(drunk_sd_ * z); }

}  // namespace farrowtide
