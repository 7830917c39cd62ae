#pragma once

#include <span>

#include "libsim/model/room/psychrometrics.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Death of sows in air that takes up too little of their heat.
/// Equation:
///   index [degC] = wet_bulb_weight * T_wb + (1 - wet_bulb_weight) * T - cooling
///   hazard [1/d] = overheating.death_slope * mean(max(0, index - overheating.death_from))
/// Where: T [degC] temperature of the hour; T_wb [degC] its wet bulb of Psychrometrics; cooling [K] credit of
///   EffectiveTemperature; mean is over the 24 hours of the day, and
///   the hazard that of death
/// Valid: hours above death_from; 0 below
/// Source: weights Roller & Goldman 1969; heavy pigs in distress at 35.6 degC and 94 %, one dead at 37.8 degC, Heitman
///   & Hughes 1949; slope assumed
class Overheating {
 public:
  explicit Overheating(const Coefficients& coefficients);
  double index_deg_c(double deg_c, double relative_humidity_pct) const;
  /// Mean hazard of death of a sow over the day [1/d].
  double death_per_day(std::span<const double, 24> temperature_deg_c, std::span<const double, 24> relative_humidity_pct,
                       double cooling_k) const;

 private:
  Psychrometrics air_;
  double wet_bulb_weight_, death_from_deg_c_, death_per_day_k_;
};

}  // namespace farrowtide
