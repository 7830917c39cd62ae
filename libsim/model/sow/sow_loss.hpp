#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

enum class Season { other, summer };

/// Inputs to a sow's hazard of death.
struct SowLossInputs {
  double since_farrowing_d = 0;  ///< negative before farrowing
  bool farrowed = false;         ///< the last piglet is born; the next two count from then on
  int stillborn = 0;
  double farrowing_duration_min = 0;
  Season season = Season::other;
  bool lame = false;  ///< leg problems
};

/// Sow mortality: at least half of the deaths occur around farrowing, the rest evenly until weaning. Hazard
/// ratios are centred: over a year, the default herd loses the share of the coefficient up to the end of a 21-d
/// lactation.
/// Equation:
///   total [-] = -ln(1 - death_in_room)
///   around [1/d] = peripartum_share / (peripartum_until - peripartum_from)
///   later [1/d] = (1 - peripartum_share) / (sow_loss.lactation_length - peripartum_until)
///   centred(ratio, share) [-] = (ratio if 'she has the risk factor', else 1) / (1 + share * (ratio - 1))
///   born [-] = (1 + sow_loss.per_stillborn * SB) / (1 + sow_loss.per_stillborn * usual_stillborn)
///     * centred(long_farrowing_multiplier, usual_long_share) 'for' FD > alarm_duration
///   ratio [-] = centred(summer_multiplier, 1 / 4) 'for summer' * centred(death_hazard_ratio, prevalence) 'for' lame
///     * (born if 'the last piglet is born', else 1)
///   hazard [1/d] = total * ratio * (0 if t < peripartum_from, around if t < peripartum_until, else later)
///   prolapse if prolapse_from <= t < prolapse_until and uniform < prolapse_share_of_deaths / share
/// Where: t [d] time since farrowing, negative before it; SB [piglets] stillborn; FD [min] farrowing duration;
///   summer is the quarter of the year around the warmest day; lame [-] of LegTrouble; share [-] of sows with the risk
///   factor or, for prolapse, of all deaths that fall within its window; prolapse [-] cause of death; uniform [-]
///   uniform draw between 0 and 1, one per death
/// Valid: from two days before farrowing to weaning
/// Source: records of 121 European herds; prolapse from a survey of 104 farms; shares and multipliers assumed
class SowLoss {
 public:
  explicit SowLoss(const Coefficients& coefficients);
  /// Hazard of death [1/d], 0 before the peripartum window.
  double per_day(const SowLossInputs& sow) const;
  /// Time until the hazard next changes with time alone [d], always above 0; infinity after the last change.
  double next_change_d(double since_farrowing_d) const;
  /// Whether a death on this day is due to prolapse; prolapses are part of the deaths, not additional to them.
  bool is_prolapse(double since_farrowing_d, double uniform) const;

 private:
  double share_of_deaths_before(double since_farrowing_d) const;
  double from_d_, until_d_, lactation_d_, peripartum_share_, cumulative_hazard_;
  double per_stillborn_, usual_stillborn_, summer_, long_farrowing_, usual_long_share_, lame_, usual_lame_share_;
  double long_from_min_;
  double prolapse_from_d_, prolapse_until_d_, prolapse_share_;
};

}  // namespace farrowtide
