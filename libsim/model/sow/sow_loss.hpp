#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

enum class Season { other, summer };

/// What a sow's hazard of death depends on.
struct SowLossInputs {
  double since_farrowing_d = 0;  ///< negative before
  int stillborn = 0;             ///< so far
  double farrowing_duration_min = 0;
  Season season = Season::other;
};

/// Death of sows: half of the deaths and more around farrowing, the rest even to weaning. A sow with
/// nothing special dies within a 21-d lactation with the probability of the coefficient.
/// Equation:
///   total [-] = -ln(1 - death_in_room)
///   around [1/d] = peripartum_share / (peripartum_until - peripartum_from)
///   later [1/d] = (1 - peripartum_share) / (sow_loss.lactation_length - peripartum_until)
///   ratio [-] = (1 + sow_loss.per_stillborn * SB) * (summer_multiplier if summer, else 1)
///     * (long_farrowing_multiplier if FD > alarm_duration, else 1)
///   hazard [1/d] = total * ratio * (0 if t < peripartum_from, around if t < peripartum_until, else later)
///   prolapse if prolapse_from <= t < prolapse_until and uniform < prolapse_share_of_deaths / share
/// Where: t [d] since farrowing, negative before; SB [piglets] stillborn so far; FD [min] duration of the farrowing;
///   summer [-] the quarter of the year around the warmest day; share [-] of all deaths that fall into the prolapse
///   window; prolapse [-] cause of a death; uniform [-] draw in 0-1, of the death
/// Valid: two days before farrowing to weaning
/// Source: a 121-herd European record; prolapse a 104-farm survey; shares and multipliers assumed
class SowLoss {
 public:
  explicit SowLoss(const Coefficients& coefficients);
  /// Hazard of death [1/d], nothing before the window around farrowing. A sow with nothing special dies within a 21-d
  /// lactation with the probability of the coefficient.
  double per_day(const SowLossInputs& sow) const;
  /// Time until the hazard changes by itself [d], always more than 0; infinity after the last change.
  double next_change_d(double since_farrowing_d) const;
  /// Whether a death on this day was one by prolapse, which is a part of the deaths and not added to them.
  bool is_prolapse(double since_farrowing_d, double uniform) const;

 private:
  double share_of_deaths_before(double since_farrowing_d) const;
  double from_d_, until_d_, lactation_d_, peripartum_share_, cumulative_hazard_;
  double per_stillborn_, summer_, long_farrowing_, long_from_min_;
  double prolapse_from_d_, prolapse_until_d_, prolapse_share_;
};

}  // namespace farrowtide
