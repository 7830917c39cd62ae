#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Heat [W] a sow gives off, from her own energy balance: what she ate, less what went into body and milk.
class SowHeat {
 public:
  explicit SowHeat(const Coefficients& coefficients);
  double operator()(double intake_mcal, double body_energy_mcal, double milk_mcal) const;

 private:
  double watt_per_mcal_per_day_;
};

/// Heat [W] of a litter from its size, mean weight [kg] and milk energy [Mcal/d] (Verstegen et al. 1985).
class LitterHeat {
 public:
  explicit LitterHeat(const Coefficients& coefficients);
  double operator()(double piglets, double mean_weight_kg, double milk_mcal) const;

 private:
  double watt_per_mcal_per_day_, maintenance_, exponent_, milk_share_, digested_;
};

/// Share of animal heat that warms the air, the rest being moisture (CIGR 2002, from memory; 10-35 degC).
class SensibleShare {
 public:
  explicit SensibleShare(const Coefficients& coefficients);
  double operator()(double room_deg_c) const;

 private:
  double scale_, slope_, reference_deg_c_, hot_;
};

/// Heat of an hour against the day's mean: more in the 12 hours after the light goes on (Zhang et al. 2019).
class DailyHeatRhythm {
 public:
  explicit DailyHeatRhythm(const Coefficients& coefficients);
  double operator()(int hour) const;

 private:
  int day_from_hour_;
  double day_, night_;
};

}  // namespace farrowtide
