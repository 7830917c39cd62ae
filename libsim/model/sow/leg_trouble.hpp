#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Leg or structural problems at loading, which only treatment can end. The effects on her piglets, her own death and
/// her removal are in Survival, SowLoss and RemovalRisk. What a lame sow needs is the herd veterinarian's decision.
/// Equation:
///   lame if uniform < p
///   p [-] = 1 / (1 + (1 - prevalence) / prevalence * exp(-level))
///   appetite [-] = legs.appetite_multiplier if lame, else 1
///   recovery [1/d] = legs.recovery_treated 'from her treatment on'
/// Where: lame [-] leg or structural problems; uniform [-] uniform draw between 0 and 1, one per sow;
///   level [logit] of the herd, 0 by default; recovery is a hazard
/// Valid: from loading to weaning
/// Source: prevalence Pluym et al. 2013; the rest assumed
class LegTrouble {
 public:
  explicit LegTrouble(const Coefficients& coefficients);
  bool has_it(double uniform, double herd_level_logit = 0) const;
  double appetite_multiplier() const { return appetite_multiplier_; }
  /// Time from treatment to recovery [d] for a unit exponential draw; infinity if treatment does nothing.
  double recovers_after_d(double exponential) const { return exponential / recovery_per_day_; }

 private:
  double prevalence_, appetite_multiplier_, recovery_per_day_;
};

}  // namespace farrowtide
