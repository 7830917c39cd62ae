#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Moist air at one pressure: Magnus saturation (Sonntag 1990; -45 to 60 degC) and Stull's wet bulb (2011; 5-99 %).
class Psychrometrics {
 public:
  explicit Psychrometrics(const Coefficients& coefficients);
  double saturation_pressure_pa(double deg_c) const;
  /// Water per dry air [kg/kg].
  double humidity_ratio(double deg_c, double relative_humidity_pct) const;
  double relative_humidity_pct(double deg_c, double humidity_ratio) const;
  /// Relative humidity [%] of air at a dew point; at most 100.
  double relative_humidity_at_dew_point_pct(double deg_c, double dew_point_deg_c) const;
  /// Within 0.7 K at 0-35 degC from 20 % on; up to 1.2 K off in drier or hotter air.
  double wet_bulb_deg_c(double deg_c, double relative_humidity_pct) const;
  /// Dry air in a volume of moist air [kg/m3], by the gas law.
  double dry_air_density_kg_per_m3(double deg_c, double humidity_ratio) const;

 private:
  double pressure_pa_, mass_ratio_, magnus_pa_, magnus_a_, magnus_b_;
  double stull_a_, stull_b_, stull_c_, stull_d_, stull_e_, stull_f_;
};

}  // namespace farrowtide
