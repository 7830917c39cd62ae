#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Temperature where piglets lie, as an excess over room temperature. Lower the room set point only where the creep
/// area stays warm.
/// Equation:
///   T_newborn [degC] = T + newborn
///   way [-] = clip((d - 1) / (creep_later_by_day - 1), 0, 1)
///   T_creep [degC] = T + creep_day_1 + way * (creep_later - creep_day_1)
/// Where: T [degC] room temperature; d [d] day of lactation, from 1
/// Valid: heated creep areas
/// Source: assumption
class MicroClimate {
 public:
  explicit MicroClimate(const Coefficients& coefficients);
  double newborn_deg_c(double room_deg_c) const { return room_deg_c + newborn_k_; }
  /// From day 1 of lactation; decreases linearly to its later value.
  double creep_deg_c(double room_deg_c, int lactation_day) const;

 private:
  double newborn_k_, creep_day_1_k_, creep_later_k_, later_by_day_;
};

/// Heat lamp power per crate by day of lactation. Heat lamps are a fire and burn hazard.
/// Equation:
///   first [-] = 1 if first_from_day <= d <= first_until_day, else 0
///   second [-] = 1 if first_from_day <= d <= second_until_day, else 0
///   heat [W] = power * (first + second)
/// Where: d [d] day of lactation
/// Valid: one or two lamps per crate
/// Source: power from an Iowa farrowing room, Animals 2019 9:996, authors not recorded; days common practice
class HeatLamps {
 public:
  explicit HeatLamps(const Coefficients& coefficients);
  double watt(int lactation_day) const;

 private:
  double power_w_, from_day_, first_until_day_, second_until_day_;
};

}  // namespace farrowtide
