#include "libsim/model/room/overheating.hpp"

#include <algorithm>
#include <cstddef>

namespace farrowtide {

Overheating::Overheating(const Coefficients& coefficients)
    : air_(coefficients),
      wet_bulb_weight_(coefficients.number("room.overheating.wet_bulb_weight", "-")),
      death_from_deg_c_(coefficients.number("room.overheating.death_from", "degC")),
      death_per_day_k_(coefficients.number("room.overheating.death_slope", "1/(d K)")) {}

double Overheating::index_deg_c(double deg_c, double relative_humidity_pct) const {
  return wet_bulb_weight_ * air_.wet_bulb_deg_c(deg_c, relative_humidity_pct) + (1 - wet_bulb_weight_) * deg_c;
}

double Overheating::death_per_day(std::span<const double, 24> temperature_deg_c,
                                  std::span<const double, 24> relative_humidity_pct, double cooling_k) const {
  double excess_k = 0;
  for (std::size_t hour = 0; hour < 24; ++hour) {
    if (temperature_deg_c[hour] <= death_from_deg_c_) continue;  // the wet bulb is never warmer than the air
    excess_k += std::max(
        0.0, index_deg_c(temperature_deg_c[hour], relative_humidity_pct[hour]) - cooling_k - death_from_deg_c_);
  }
  return death_per_day_k_ * excess_k / 24;
}

}  // namespace farrowtide
