#include "libsim/model/room/psychrometrics.hpp"

#include <algorithm>
#include <cmath>

namespace farrowtide {
namespace {

constexpr double dry_air_gas_constant_j_per_kg_k = 287.042;  // ASHRAE Handbook of Fundamentals, from memory
constexpr double freezing_k = 273.15;

}  // namespace

Psychrometrics::Psychrometrics(const Coefficients& coefficients)
    : pressure_pa_(coefficients.number("room.moisture.pressure", "Pa")),
      mass_ratio_(coefficients.number("room.moisture.molar_mass_ratio", "-")),
      magnus_pa_(coefficients.number("room.moisture.magnus_pressure", "Pa")),
      magnus_a_(coefficients.number("room.moisture.magnus_a", "-")),
      magnus_b_(coefficients.number("room.moisture.magnus_b", "degC")) {
  const auto& stull = coefficients.table("room.cooling.wet_bulb", "-");
  stull_a_ = stull.at(0);
  stull_b_ = stull.at(1);
  stull_c_ = stull.at(2);
  stull_d_ = stull.at(3);
  stull_e_ = stull.at(4);
  stull_f_ = stull.at(5);
}

double Psychrometrics::saturation_pressure_pa(double deg_c) const {
  return magnus_pa_ * std::exp(magnus_a_ * deg_c / (magnus_b_ + deg_c));
}

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
  const double rh = relative_humidity_pct;
  return deg_c * std::atan(stull_a_ * std::sqrt(rh + stull_b_)) + std::atan(deg_c + rh) - std::atan(rh - stull_c_) +
         stull_d_ * std::pow(rh, 1.5) * std::atan(stull_e_ * rh) - stull_f_;
}

double Psychrometrics::dry_air_density_kg_per_m3(double deg_c, double humidity_ratio) const {
  const double dry_air_pa = pressure_pa_ * mass_ratio_ / (mass_ratio_ + humidity_ratio);
  return dry_air_pa / (dry_air_gas_constant_j_per_kg_k * (deg_c + freezing_k));
}

}  // namespace farrowtide
