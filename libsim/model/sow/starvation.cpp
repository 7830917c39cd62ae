#include "libsim/model/sow/starvation.hpp"

#include <algorithm>
#include <cmath>

namespace farrowtide {

Starvation::Starvation(const Coefficients& coefficients)
    : weight_(1 - std::exp(-1 / coefficients.number("sow.starvation.memory", "d"))),
      enough_(coefficients.number("sow.starvation.enough_for_milk", "-")),
      death_from_(coefficients.number("sow.starvation.death_from", "-")),
      death_slope_per_day_(coefficients.number("sow.starvation.death_slope", "1/d")),
      most_loss_(coefficients.number("sow.starvation.most_loss", "-")),
      death_when_spent_per_day_(coefficients.number("sow.starvation.death_when_spent", "1/d")) {}

double Starvation::smoothed_mcal(double last_smoothed_mcal, double intake_mcal) const {
  return last_smoothed_mcal + weight_ * (intake_mcal - last_smoothed_mcal);
}

double Starvation::milk_multiplier(double smoothed_intake_mcal, double maintenance_mcal) const {
  if (enough_ <= 0) return 1;
  return std::clamp(smoothed_intake_mcal / (enough_ * maintenance_mcal), 0.0, 1.0);
}

double Starvation::death_per_day(double protein_loss_share, double loss_share) const {
  return death_slope_per_day_ * std::max(0.0, protein_loss_share - death_from_) +
         (spent(loss_share) ? death_when_spent_per_day_ : 0);
}

}  // namespace farrowtide
