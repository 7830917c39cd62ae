#pragma once

#include "libsim/model/curves/knot_curve.hpp"

namespace farrowtide {

/// Suckling piglets whose sow gives less milk than they need to live: they lose weight, and starve within days.
/// Equation:
///   unfed [-] = max(0, 1 - milk / (piglet_maintenance * sum(weight^metabolic_exponent)))
///   loss [kg/d] = unfed * weight_loss * weight
///   hazard [1/d] = unfed * death(age)
/// Where: milk [Mcal/d] milk energy of the sow; weight [kg] of a piglet, the sum over the litter; age [d] of the
///   piglet, linear between the ages of the table; the litter's gain from milk is multiplied by 1 - unfed; loss and
///   hazard are those of each piglet, added to gain and to the starvation hazard of Survival
/// Valid: from day 1 of lactation; litters with enough milk to live are not touched
/// Source: maintenance Verstegen et al. 1985; loss and hazard assumed
class UnfedLitter {
 public:
  explicit UnfedLitter(const Coefficients& coefficients);
  /// A piglet's part in the litter's need.
  double need_mcal(double weight_kg) const;
  /// The most that a litter can need: that of equal piglets, as the exponent is below 1; infinite if it is not.
  double most_need_mcal(double litter_kg, int piglets) const;
  /// Share of their need that piglets do not get, 0-1.
  double unfed_share(double milk_mcal, double need_mcal) const;
  /// Weight lost in a day [kg] by a piglet without any milk.
  double weight_loss_kg(double weight_kg) const { return loss_per_day_ * weight_kg; }
  /// Starvation hazard [1/d] of a piglet without any milk.
  double death_per_day(double age_d) const { return death_(age_d); }

 private:
  double maintenance_mcal_, exponent_, loss_per_day_;
  KnotCurve death_;
};

}  // namespace farrowtide
