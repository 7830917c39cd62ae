#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Psychrometric properties of moist air at constant pressure.
/// Equation:
///   saturation(T) [Pa] = magnus_pressure * exp(magnus_a * T / (magnus_b + T))
///   W(T, RH) [kg/kg] = molar_mass_ratio * e / (moisture.pressure - e)
///   e [Pa] = RH / 100 * saturation(T)
///   humidity(T, W) [%] = 100 * moisture.pressure * W / (molar_mass_ratio + W) / saturation(T)
///   dry [Pa] = moisture.pressure * molar_mass_ratio / (molar_mass_ratio + W)
///   density [kg/m3] = dry / (287.042 * (T + 273.15))
///   T_wb [degC] = 'where' (h0 - h1 * T_wb) * W_sat - c_air * (T - T_wb) 'equals'
///     (h0 + c_vapour * T - c_water * T_wb) * W
///   W_sat [kg/kg] = W(T_wb, 100) 'over water; with' magnus_ice_a, magnus_ice_b 'over ice'
/// Where: T [degC] air temperature; RH [%] relative humidity; h0, h1 [kJ/kg, kJ/(kg K)] latent heat of evaporation and
///   its decrease with temperature, 2501 and 2.326, over ice 2830 and 0.24; c_air, c_vapour, c_water [kJ/(kg K)]
///   specific heat capacities, 1.006, 1.86 and 4.186, of ice 2.1
/// Valid: -45 to 60 degC
/// Source: saturation Sonntag 1990; wet bulb by adiabatic saturation, ASHRAE Handbook of Fundamentals; from memory
class Psychrometrics {
 public:
  explicit Psychrometrics(const Coefficients& coefficients);
  double saturation_pressure_pa(double deg_c) const;
  /// Mass of water vapour per mass of dry air [kg/kg].
  double humidity_ratio(double deg_c, double relative_humidity_pct) const;
  double relative_humidity_pct(double deg_c, double humidity_ratio) const;
  /// Relative humidity [%] of air with a given dew point; at most 100.
  double relative_humidity_at_dew_point_pct(double deg_c, double dew_point_deg_c) const;
  /// Wet-bulb temperature, solved to 1e-6 K; over ice when below freezing.
  double wet_bulb_deg_c(double deg_c, double relative_humidity_pct) const;
  /// Mass of dry air per volume of moist air [kg/m3], from the ideal gas law.
  double dry_air_density_kg_per_m3(double deg_c, double humidity_ratio) const;

 private:
  struct Magnus {
    double a, b_deg_c;
  };
  // Water or ice: vapour pressure, latent heat, change in latent heat with temperature, and specific heat capacity.
  struct Phase {
    Magnus magnus;
    double heat_kj_per_kg, heat_slope_kj_per_kg_k, capacity_kj_per_kg_k;
  };
  double saturation_pa(const Magnus& magnus, double deg_c) const;
  double wet_bulb_over(const Phase& phase, double from_deg_c, double deg_c, double humidity_ratio) const;

  double pressure_pa_, mass_ratio_, magnus_pa_;
  Magnus over_water_, over_ice_;
};

}  // namespace farrowtide
