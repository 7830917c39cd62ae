#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Heat a sow gives off, from her own energy balance: what she ate, less what went into body and milk.
/// Equation:
///   heat [W] = watt_per_energy * (intake - dE - milk)
/// Where: intake [Mcal/d] feed energy; dE [Mcal/d] into the body, negative when she draws on it; milk [Mcal/d] in the
///   milk
/// Valid: any sow-day
/// Source: conservation of energy
class SowHeat {
 public:
  explicit SowHeat(const Coefficients& coefficients);
  double operator()(double intake_mcal, double body_energy_mcal, double milk_mcal) const;

 private:
  double watt_per_mcal_per_day_;
};

/// Heat of a litter from its size, mean weight and milk.
/// Equation:
///   maintenance [Mcal/d] = N * piglet_maintenance * weight^metabolic_exponent
///   above [Mcal/d] = max(0, milk_digested * milk - maintenance)
///   heat [W] = watt_per_energy * (maintenance + piglet_milk_share_to_heat * above)
/// Where: N [piglets] alive; weight [kg] their mean; milk [Mcal/d] milk energy
/// Valid: suckling piglets
/// Source: Verstegen et al. 1985, J Anim Sci 60:731
class LitterHeat {
 public:
  explicit LitterHeat(const Coefficients& coefficients);
  double operator()(double piglets, double mean_weight_kg, double milk_mcal) const;

 private:
  double watt_per_mcal_per_day_, maintenance_, exponent_, milk_share_, digested_;
};

/// Share of animal heat that warms the air, the rest being moisture.
/// Equation:
///   total [-] = 1000 + sensible_slope * (sensible_reference - T)
///   share [-] = max(0, (sensible_scale * total - sensible_hot * T^6) / total)
/// Where: T [degC] room, at least 0
/// Valid: 10-35 degC
/// Source: CIGR 2002, from memory
class SensibleShare {
 public:
  explicit SensibleShare(const Coefficients& coefficients);
  double operator()(double room_deg_c) const;

 private:
  double scale_, slope_, reference_deg_c_, hot_;
};

/// Heat of an hour against the day's mean: more in the 12 hours after the light goes on.
/// Equation:
///   f(h) [-] = day_factor if light_from <= h < light_from + 12, else night_factor
/// Where: h [h] clock hour
/// Valid: any hour; the mean is 1
/// Source: Zhang, Johnson & Trottier 2019
class DailyHeatRhythm {
 public:
  explicit DailyHeatRhythm(const Coefficients& coefficients);
  double operator()(int hour) const;

 private:
  int day_from_hour_;
  double day_, night_;
};

}  // namespace farrowtide
