#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

enum class Season { other, summer };

/// Inputs to a sow's hazard of death.
struct SowLossInputs {
  double since_farrowing_d = 0;  ///< negative before farrowing
  int stillborn = 0;             ///< so far
  double farrowing_duration_min = 0;
  Season season = Season::other;
};

/// Sow mortality: at least half of the deaths occur around farrowing, the rest evenly until weaning. For a sow without
/// risk factors, the probability of death up to the end of a 21-d lactation equals the coefficient.
/// Equation:
///   total [-] = -ln(1 - death_in_room)
///   around [1/d] = peripartum_share / (peripartum_until - peripartum_from)
///   later [1/d] = (1 - peripartum_share) / (sow_loss.lactation_length - peripartum_until)
///   ratio [-] = (1 + sow_loss.per_stillborn * SB) * (summer_multiplier if summer, else 1)
///     * (long_farrowing_multiplier if FD > alarm_duration, else 1)
///   hazard [1/d] = total * ratio * (0 if t < peripartum_from, around if t < peripartum_until, else later)
///   prolapse if prolapse_from <= t < prolapse_until and uniform < prolapse_share_of_deaths / share
/// Where: t [d] time since farrowing, negative before it; SB [piglets] stillborn so far; FD [min] farrowing duration;
///   summer [-] the quarter of the year around the warmest day; share [-] share of all deaths that fall within the
///   prolapse window; prolapse [-] cause of death; uniform [-] uniform draw between 0 and 1, one per death
/// Valid: from two days before farrowing to weaning
/// Source: records of 121 European herds; prolapse from a survey of 104 farms; shares and multipliers assumed
class SowLoss {
 public:
  explicit SowLoss(const Coefficients& coefficients);
  /// Hazard of death [1/d], 0 before the peripartum window. For a sow without risk factors, the probability of death up
  /// to the end of a 21-d lactation equals the coefficient.
  double per_day(const SowLossInputs& sow) const;
  /// Time until the hazard next changes with time alone [d], always above 0; infinity after the last change.
  double next_change_d(double since_farrowing_d) const;
  /// Whether a death on this day is due to prolapse; prolapses are part of the deaths, not additional to them.
  bool is_prolapse(double since_farrowing_d, double uniform) const;

 private:
  double share_of_deaths_before(double since_farrowing_d) const;
  double from_d_, until_d_, lactation_d_, peripartum_share_, cumulative_hazard_;
  double per_stillborn_, summer_, long_farrowing_, long_from_min_;
  double prolapse_from_d_, prolapse_until_d_, prolapse_share_;
};

}  // namespace farrowtide
