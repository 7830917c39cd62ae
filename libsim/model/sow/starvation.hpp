#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// What a sow without feed loses: first her milk, when she has eaten next to nothing for some days, whatever her
/// reserves; much later her life, when she has broken down much of her body protein.
/// Equation:
///   fed [Mcal/d] = fed_before + (1 - exp(-1 / starvation.memory)) * (intake - fed_before)
///   milk [-] = clip(fed / (enough_for_milk * MEm), 0, 1)
///   hazard [1/d] = starvation.death_slope * max(0, loss - starvation.death_from)
///     + (starvation.death_when_spent if max(loss, loss_w) >= starvation.most_loss)
/// Where: intake [Mcal/d] feed energy eaten; fed_before [Mcal/d] value of the previous day, at loading the allowance of
///   late gestation; MEm [Mcal/d] of Maintenance; loss [-] body protein lost since loading, as a share of it;
///   loss_w [-] body weight lost, likewise
/// Valid: sows that hardly eat; no effect in sows that eat half of their maintenance
/// Source: assumption
class Starvation {
 public:
  explicit Starvation(const Coefficients& coefficients);
  /// Exponentially smoothed feed energy [Mcal/d] after one more day.
  double smoothed_mcal(double last_smoothed_mcal, double intake_mcal) const;
  /// Milk multiplier, 0-1.
  double milk_multiplier(double smoothed_intake_mcal, double maintenance_mcal) const;
  /// Hazard of death by hunger [1/d].
  double death_per_day(double protein_loss_share, double loss_share) const;
  /// Whether she has lost all that she can, of body protein or of weight.
  bool spent(double loss_share) const { return loss_share >= most_loss_; }

 private:
  double weight_, enough_, death_from_, death_slope_per_day_, most_loss_, death_when_spent_per_day_;
};

}  // namespace farrowtide
