#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Warmth where piglets lie, above the room. Lower a room's set point only where the creep stays warm.
/// Equation:
///   T_newborn [degC] = T + newborn
///   way [-] = clip((d - 1) / (creep_later_by_day - 1), 0, 1)
///   T_creep [degC] = T + creep_day_1 + way * (creep_later - creep_day_1)
/// Where: T [degC] room; d [d] day of lactation, from 1
/// Valid: a creep area that is kept warm
/// Source: assumption
class MicroClimate {
 public:
  explicit MicroClimate(const Coefficients& coefficients);
  double newborn_deg_c(double room_deg_c) const { return room_deg_c + newborn_k_; }
  /// From day 1 of lactation; falls in a straight line to its later value.
  double creep_deg_c(double room_deg_c, int lactation_day) const;

 private:
  double newborn_k_, creep_day_1_k_, creep_later_k_, later_by_day_;
};

/// Heat lamps of a crate by day of lactation. A heat lamp is a fire and burn hazard.
/// Equation:
///   first [-] = 1 if first_from_day <= d <= first_until_day, else 0
///   second [-] = 1 if first_from_day <= d <= second_until_day, else 0
///   heat [W] = power * (first + second)
/// Where: d [d] day of lactation
/// Valid: one or two lamps a crate
/// Source: an Iowa room, Animals 2019 9:996, authors not recorded; days common practice
class HeatLamps {
 public:
  explicit HeatLamps(const Coefficients& coefficients);
  double watt(int lactation_day) const;

 private:
  double power_w_, from_day_, first_until_day_, second_until_day_;
};

}  // namespace farrowtide
