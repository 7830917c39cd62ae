#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Warmth where piglets lie, above the room. Lower a room's set point only where the creep stays warm.
class MicroClimate {
 public:
  explicit MicroClimate(const Coefficients& coefficients);
  double newborn_deg_c(double room_deg_c) const { return room_deg_c + newborn_k_; }
  /// From day 1 of lactation; falls in a straight line to its later value.
  double creep_deg_c(double room_deg_c, int lactation_day) const;

 private:
  double newborn_k_, creep_day_1_k_, creep_later_k_, later_by_day_;
};

/// Heat lamps of a crate [W] by day of lactation. A heat lamp is a fire and burn hazard.
class HeatLamps {
 public:
  explicit HeatLamps(const Coefficients& coefficients);
  double watt(int lactation_day) const;

 private:
  double power_w_, from_day_, first_until_day_, second_until_day_;
};

}  // namespace farrowtide
