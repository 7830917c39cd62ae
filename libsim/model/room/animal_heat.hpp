#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Heat production of a sow from her energy balance: intake minus energy retained in the body and secreted in milk.
/// Equation:
///   heat [W] = watt_per_energy * (intake - dE - milk)
/// Where: intake [Mcal/d] feed energy; dE [Mcal/d] energy retained in the body, negative when mobilised; milk [Mcal/d]
///   milk energy
/// Valid: any sow-day
/// Source: conservation of energy
class SowHeat {
 public:
  explicit SowHeat(const Coefficients& coefficients);
  double operator()(double intake_mcal, double body_energy_mcal, double milk_mcal) const;

 private:
  double watt_per_mcal_per_day_;
};

/// Heat production of a litter from its size, mean weight and milk intake.
/// Equation:
///   maintenance [Mcal/d] = N * piglet_maintenance * weight^metabolic_exponent
///   above [Mcal/d] = max(0, milk_digested * milk - maintenance)
///   heat [W] = watt_per_energy * (maintenance + piglet_milk_share_to_heat * above)
/// Where: N [piglets] alive; weight [kg] mean piglet weight; milk [Mcal/d] milk energy
/// Valid: suckling piglets
/// Source: Verstegen et al. 1985, J Anim Sci 60:731
class LitterHeat {
 public:
  explicit LitterHeat(const Coefficients& coefficients);
  double operator()(double piglets, double mean_weight_kg, double milk_mcal) const;

 private:
  double watt_per_mcal_per_day_, maintenance_, exponent_, milk_share_, digested_;
};

/// Sensible share of animal heat production; the rest is latent.
/// Equation:
///   total [-] = 1000 + sensible_slope * (sensible_reference - T)
///   share [-] = max(0, (sensible_scale * total - sensible_hot * T^6) / total)
/// Where: T [degC] room temperature, at least 0
/// Valid: 10-35 degC
/// Source: CIGR 2002, from memory
class SensibleShare {
 public:
  explicit SensibleShare(const Coefficients& coefficients);
  double operator()(double room_deg_c) const;

 private:
  double scale_, slope_, reference_deg_c_, hot_;
};

/// Heat production of an hour relative to the daily mean: higher in the 12 hours after the light goes on.
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
