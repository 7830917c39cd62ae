#include "libsim/model/room/animal_heat.hpp"

#include <algorithm>
#include <cmath>

namespace farrowtide {

SowHeat::SowHeat(const Coefficients& coefficients)
    : watt_per_mcal_per_day_(coefficients.number("room.animal_heat.watt_per_energy", "W/(Mcal/d)")) {}

double SowHeat::operator()(double intake_mcal, double body_energy_mcal, double milk_mcal) const {
  return watt_per_mcal_per_day_ * (intake_mcal - body_energy_mcal - milk_mcal);
}

LitterHeat::LitterHeat(const Coefficients& coefficients)
    : watt_per_mcal_per_day_(coefficients.number("room.animal_heat.watt_per_energy", "W/(Mcal/d)")),
      maintenance_(coefficients.number("room.animal_heat.piglet_maintenance", "Mcal/kg^0.75/d")),
      exponent_(coefficients.number("sow.energy_balance.metabolic_exponent", "-")),
      milk_share_(coefficients.number("room.animal_heat.piglet_milk_share_to_heat", "-")),
      digested_(coefficients.number("room.animal_heat.milk_digested", "-")) {}

double LitterHeat::operator()(double piglets, double mean_weight_kg, double milk_mcal) const {
  const double maintenance_mcal = piglets * maintenance_ * std::pow(mean_weight_kg, exponent_);
  const double above_mcal = std::max(0.0, digested_ * milk_mcal - maintenance_mcal);
  return watt_per_mcal_per_day_ * (maintenance_mcal + milk_share_ * above_mcal);
}

SensibleShare::SensibleShare(const Coefficients& coefficients)
    : scale_(coefficients.number("room.animal_heat.sensible_scale", "-")),
      slope_(coefficients.number("room.animal_heat.sensible_slope", "1/K")),
      reference_deg_c_(coefficients.number("room.animal_heat.sensible_reference", "degC")),
      hot_(coefficients.number("room.animal_heat.sensible_hot", "1/K^6")) {}

double SensibleShare::operator()(double room_deg_c) const {
  const double deg_c = std::max(0.0, room_deg_c);
  const double total = 1000 + slope_ * (reference_deg_c_ - deg_c);
  return std::max(0.0, (scale_ * total - hot_ * std::pow(deg_c, 6)) / total);
}

DailyHeatRhythm::DailyHeatRhythm(const Coefficients& coefficients)
    : day_from_hour_(static_cast<int>(coefficients.number("sow.meals.clock.light_from", "h"))),
      day_(coefficients.number("room.animal_heat.day_factor", "-")),
      night_(coefficients.number("room.animal_heat.night_factor", "-")) {}

double DailyHeatRhythm::operator()(int hour) const {
  return hour >= day_from_hour_ && hour < day_from_hour_ + 12 ? day_ : night_;
}

}  // namespace farrowtide
