#include "libsim/model/litter/chilling.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

Chilling::Chilling(const Coefficients& coefficients)
    : age_d_{coefficients.axis("litter.chilling.lower_critical_temperature")},
      alone_deg_c_{coefficients.table("litter.chilling.lower_critical_temperature", "degC")},
      huddling_k_{coefficients.number("litter.chilling.huddling", "K")},
      heat_per_k_{coefficients.number("litter.chilling.heat_per_degree", "1/K")},
      maintenance_kcal_{1000 * coefficients.number("room.animal_heat.piglet_maintenance", "Mcal/kg^0.75/d")},
      metabolic_exponent_{coefficients.number("sow.energy_balance.metabolic_exponent", "-")},
      kcal_per_g_{coefficients.number("sow.milk.potential.energy_per_litter_gain", "kcal/g")},
      from_age_d_{coefficients.number("litter.chilling.from_age", "d")} {}

double Chilling::lower_critical_deg_c(double age_d) const {
  const auto next = std::ranges::upper_bound(age_d_, age_d);
  if (next == age_d_.begin()) return alone_deg_c_.front() - huddling_k_;
  if (next == age_d_.end()) return alone_deg_c_.back() - huddling_k_;
  const auto to = static_cast<std::size_t>(next - age_d_.begin());
  const double part = (age_d - age_d_[to - 1]) / (age_d_[to] - age_d_[to - 1]);
  return std::lerp(alone_deg_c_[to - 1], alone_deg_c_[to], part) - huddling_k_;
}

double Chilling::gain_loss_g_per_day(double weight_kg, double age_d, double lying_deg_c) const {
  if (age_d < from_age_d_) return 0;
  const double too_cold_k = std::max(0.0, lower_critical_deg_c(age_d) - lying_deg_c);
  if (too_cold_k == 0) return 0;
  const double maintenance_kcal = maintenance_kcal_ * std::pow(weight_kg, metabolic_exponent_);
  return heat_per_k_ * too_cold_k * maintenance_kcal / kcal_per_g_;
}

}  // namespace farrowtide
