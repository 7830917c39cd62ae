#pragma once

#include <vector>

namespace farrowtide {

class Coefficients;

/// Gain a piglet loses because it uses milk energy for thermoregulation where it lies.
///
/// The extra heat production measured in newborn piglets is used at all ages. Not applied on the first day, when cold
/// acts through colostrum intake and survival.
/// Equation:
///   critical [degC] = lower_critical_temperature(age) - huddling
///   maintenance [kcal/d] = 1000 * piglet_maintenance * weight^metabolic_exponent
///   loss [g/d] = heat_per_degree * max(0, critical - T) * maintenance / energy_per_litter_gain
///     if age >= from_age, else 0
/// Where: age [d] of the piglet, interpolated linearly between the ages of the table; weight [kg] of the piglet; T
///   [degC] where it lies, of MicroClimate
/// Valid: 0-28 d, up to about 15 K below the critical temperature
/// Source: Herpin et al. 1994, Exp Physiol 79:1011; critical temperatures from memory
class Chilling {
 public:
  explicit Chilling(const Coefficients& coefficients);

  /// Lower critical temperature of a huddling piglet [degC].
  double lower_critical_deg_c(double age_d) const;

  /// Gain lost [g/d] at the temperature where it lies (MicroClimate::creep_deg_c).
  double gain_loss_g_per_day(double weight_kg, double age_d, double lying_deg_c) const;

 private:
  std::vector<double> age_d_, alone_deg_c_;
  double huddling_k_, heat_per_k_, maintenance_kcal_, metabolic_exponent_, kcal_per_g_, from_age_d_;
};

}  // namespace farrowtide
