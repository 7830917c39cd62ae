#include "libsim/model/litter/unfed.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

UnfedLitter::UnfedLitter(const Coefficients& coefficients)
    : maintenance_mcal_{coefficients.number("room.animal_heat.piglet_maintenance", "Mcal/kg^0.75/d")},
      exponent_{coefficients.number("sow.energy_balance.metabolic_exponent", "-")},
      loss_per_day_{coefficients.number("litter.unfed.weight_loss", "1/d")},
      death_{coefficients, "litter.unfed.death", "1/d"} {}

double UnfedLitter::need_mcal(double weight_kg) const { return maintenance_mcal_ * std::pow(weight_kg, exponent_); }

double UnfedLitter::most_need_mcal(double litter_kg, int piglets) const {
  return exponent_ < 1 ? piglets * need_mcal(litter_kg / piglets) : std::numeric_limits<double>::infinity();
}

double UnfedLitter::unfed_share(double milk_mcal, double need_mcal) const {
  return need_mcal > 0 ? std::max(0.0, 1 - milk_mcal / need_mcal) : 0;
}

}  // namespace farrowtide
