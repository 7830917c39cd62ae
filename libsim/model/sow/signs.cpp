#include "libsim/model/sow/signs.hpp"

#include <cstddef>

#include "libsim/kernel/errors.hpp"

namespace farrowtide {

Signs::Signs(const Coefficients& coefficients)
    : looks_{{{coefficients.number("sow.signs.nursing_sensitivity", "-"),
               coefficients.number("sow.signs.nursing_specificity", "-")},
              {coefficients.number("sow.signs.not_eaten_or_drunk_sensitivity", "-"),
               coefficients.number("sow.signs.not_eaten_or_drunk_specificity", "-")},
              {coefficients.number("sow.signs.udder_sensitivity", "-"),
               coefficients.number("sow.signs.udder_specificity", "-")},
              {coefficients.number("sow.signs.legs_sensitivity", "-"),
               coefficients.number("sow.signs.legs_specificity", "-")}}} {}

double Signs::probability(Sign sign, Condition condition) const {
  if (sign == Sign::temperature) throw InternalError("a temperature is measured, not looked for");
  const Look& look = looks_[static_cast<std::size_t>(sign) - static_cast<std::size_t>(Sign::nursing)];
  return condition == Condition::present ? look.sensitivity : 1 - look.specificity;
}

}  // namespace farrowtide
