#include "libsim/model/room/micro_climate.hpp"

#include <algorithm>

namespace farrowtide {

MicroClimate::MicroClimate(const Coefficients& coefficients)
    : newborn_k_(coefficients.number("room.micro_climate.newborn", "K")),
      creep_day_1_k_(coefficients.number("room.micro_climate.creep_day_1", "K")),
      creep_later_k_(coefficients.number("room.micro_climate.creep_later", "K")),
      later_by_day_(coefficients.number("room.micro_climate.creep_later_by_day", "d")) {}

double MicroClimate::creep_deg_c(double room_deg_c, int lactation_day) const {
  const double way = std::clamp((lactation_day - 1) / (later_by_day_ - 1), 0.0, 1.0);
  return room_deg_c + creep_day_1_k_ + way * (creep_later_k_ - creep_day_1_k_);
}

HeatLamps::HeatLamps(const Coefficients& coefficients)
    : power_w_(coefficients.number("room.lamps.power", "W")),
      from_day_(coefficients.number("room.lamps.first_from_day", "d")),
      first_until_day_(coefficients.number("room.lamps.first_until_day", "d")),
      second_until_day_(coefficients.number("room.lamps.second_until_day", "d")) {}

double HeatLamps::watt(int lactation_day) const {
  if (lactation_day < from_day_) return 0;
  const int lamps = (lactation_day <= first_until_day_ ? 1 : 0) + (lactation_day <= second_until_day_ ? 1 : 0);
  return lamps * power_w_;
}

}  // namespace farrowtide
