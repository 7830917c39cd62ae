#include "libsim/model/sow/handling.hpp"

#include <algorithm>

namespace farrowtide {

HandlingEffect::HandlingEffect(const Coefficients& coefficients)
    : drop_(coefficients.number("sow.appetite.handling.drop", "-")),
      least_h_(coefficients.number("sow.appetite.handling.least_duration", "h")),
      most_h_(coefficients.number("sow.appetite.handling.most_duration", "h")),
      late_from_day_(coefficients.number("staff.late.processing_late_from_day", "d")),
      late_drop_multiplier_(coefficients.number("staff.late.processing_late_drop_multiplier", "-")),
      late_gain_multiplier_(coefficients.number("staff.late.processing_late_gain_multiplier", "-")),
      late_lasts_d_(coefficients.number("staff.late.processing_late_gain_lasts", "d")),
      second_share_(coefficients.number("sow.appetite.handling.second_event_share", "-")) {}

double HandlingEffect::together(double lost, double by_this_event) const {
  const auto [smaller, larger] = std::minmax(lost, by_this_event);
  return larger + second_share_ * smaller * (1 - larger);
}

}  // namespace farrowtide
