#include "libsim/model/room/psychrometrics.hpp"

#include <algorithm>
#include <cmath>

namespace farrowtide {
namespace {

constexpr double dry_air_gas_constant_j_per_kg_k = 287.042;  // ASHRAE Handbook of Fundamentals, from memory
constexpr double freezing_k = 273.15;
// Specific heat capacities of dry air and water vapour: ASHRAE Handbook of Fundamentals, from memory.
constexpr double air_kj_per_kg_k = 1.006, vapour_kj_per_kg_k = 1.86;
constexpr double wet_bulb_tolerance_k = 1e-6;

}  // namespace

Psychrometrics::Psychrometrics(const Coefficients& coefficients)
    : pressure_pa_(coefficients.number("room.moisture.pressure", "Pa")),
      mass_ratio_(coefficients.number("room.moisture.molar_mass_ratio", "-")),
      magnus_pa_(coefficients.number("room.moisture.magnus_pressure", "Pa")),
      over_water_{coefficients.number("room.moisture.magnus_a", "-"),
                  coefficients.number("room.moisture.magnus_b", "degC")},
      over_ice_{coefficients.number("room.moisture.magnus_ice_a", "-"),
                coefficients.number("room.moisture.magnus_ice_b", "degC")} {}

double Psychrometrics::saturation_pa(const Magnus& magnus, double deg_c) const {
  return magnus_pa_ * std::exp(magnus.a * deg_c / (magnus.b_deg_c + deg_c));
}

double Psychrometrics::saturation_pressure_pa(double deg_c) const { return saturation_pa(over_water_, deg_c); }

double Psychrometrics::humidity_ratio(double deg_c, double relative_humidity_pct) const {
  const double vapour_pa = relative_humidity_pct / 100 * saturation_pressure_pa(deg_c);
  return mass_ratio_ * vapour_pa / (pressure_pa_ - vapour_pa);
}

double Psychrometrics::relative_humidity_pct(double deg_c, double humidity_ratio) const {
  const double vapour_pa = pressure_pa_ * humidity_ratio / (mass_ratio_ + humidity_ratio);
  return 100 * vapour_pa / saturation_pressure_pa(deg_c);
}

double Psychrometrics::relative_humidity_at_dew_point_pct(double deg_c, double dew_point_deg_c) const {
  return std::min(100.0, 100 * saturation_pressure_pa(dew_point_deg_c) / saturation_pressure_pa(deg_c));
}

double Psychrometrics::wet_bulb_deg_c(double deg_c, double relative_humidity_pct) const {
  const double ratio = humidity_ratio(deg_c, relative_humidity_pct);
  // ASHRAE Handbook of Fundamentals, from memory.
  const double over_water = wet_bulb_over({over_water_, 2501, 2.326, 4.186}, deg_c, deg_c, ratio);
  if (over_water >= 0) return over_water;
  return wet_bulb_over({over_ice_, 2830, 0.24, 2.1}, std::min(0.0, deg_c), deg_c, ratio);
}

// Newton's method from above: the residual of the heat balance between air and water increases with the wet-bulb
// temperature and is convex, so that each step stays above the root.
double Psychrometrics::wet_bulb_over(const Phase& phase, double from_deg_c, double deg_c, double humidity_ratio) const {
  double wet = from_deg_c;
  for (double step_k = 1; std::abs(step_k) > wet_bulb_tolerance_k; wet -= step_k) {
    const double pa = saturation_pa(phase.magnus, wet);
    const double saturated = mass_ratio_ * pa / (pressure_pa_ - pa);
    const double pa_per_k = pa * phase.magnus.a * phase.magnus.b_deg_c / std::pow(phase.magnus.b_deg_c + wet, 2);
    const double saturated_per_k = mass_ratio_ * pressure_pa_ * pa_per_k / std::pow(pressure_pa_ - pa, 2);
    const double heat = phase.heat_kj_per_kg - phase.heat_slope_kj_per_kg_k * wet;
    const double balance =
        heat * saturated - air_kj_per_kg_k * (deg_c - wet) -
        (phase.heat_kj_per_kg + vapour_kj_per_kg_k * deg_c - phase.capacity_kj_per_kg_k * wet) * humidity_ratio;
    const double slope = heat * saturated_per_k - phase.heat_slope_kj_per_kg_k * saturated + air_kj_per_kg_k +
                         phase.capacity_kj_per_kg_k * humidity_ratio;
    step_k = balance / slope;
  }
  return wet;
}

double Psychrometrics::dry_air_density_kg_per_m3(double deg_c, double humidity_ratio) const {
  const double dry_air_pa = pressure_pa_ * mass_ratio_ / (mass_ratio_ + humidity_ratio);
  return dry_air_pa / (dry_air_gas_constant_j_per_kg_k * (deg_c + freezing_k));
}

}  // namespace farrowtide
