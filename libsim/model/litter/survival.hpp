#pragma once

#include <array>
#include <cstddef>
#include <limits>
#include <vector>

#include "libsim/model/litter/birth_weight.hpp"
#include "libsim/model/litter/farrowing.hpp"
#include "libsim/record/kinds.hpp"

namespace farrowtide {

class Coefficients;

/// One number per cause, in the order of DeathCause. Causes are independent: each has its own unit-exponential
/// threshold for every piglet.
using PerCause = std::array<double, NameTable<DeathCause>::size>;

/// Age intervals with their own base hazard: 0-24 h, 24-48 h, d2-3, d4-7, from d8.
inline constexpr std::size_t survival_ages = 5;

/// Frailty terms that cluster deaths within litters; each log hazard has mean -variance/2, so that the mean
/// hazard is unchanged.
/// Equation:
///   draw(s) [log] = s * z - s^2 / 2
///   birth [log] = draw(litter_sd * sqrt(birth_share)) 'of the birth litter, stays with the piglet'
///   rear [log] = draw(litter_sd * sqrt(1 - birth_share)) 'of the sow that rears it'
///   phase [log] = draw(phase_sd) 'of the rearing sow for d2-7', draw(late_phase_sd) 'from d8'
/// Where: s [log] standard deviation; z [-] standard normal draws, one per term
/// Valid: deaths before weaning
/// Source: fitted to Koketsu, Iida & Piñeiro 2021; split between birth and rearing assumed
class Frailty {
 public:
  explicit Frailty(const Coefficients& coefficients);

  double birth(double z) const { return draw(birth_sd_, z); }            ///< of the birth litter, stays with the piglet
  double rear(double z) const { return draw(rear_sd_, z); }              ///< of the sow that rears it
  double phase(double z) const { return draw(phase_sd_, z); }            ///< of the rearing sow, for d2-7
  double late_phase(double z) const { return draw(late_phase_sd_, z); }  ///< of the rearing sow, from d8

 private:
  static double draw(double sd, double z) { return sd * z - sd * sd / 2; }

  double birth_sd_, rear_sd_, phase_sd_, late_phase_sd_;
};

/// Risk factors fixed at birth, regardless of the rearing sow.
struct BirthRisk {
  double gestation_d;
  int stillborn;
  int total_born;
  double farrowing_duration_min;  ///< elapsed time until the last piglet is born
  double frailty;                 ///< Frailty::birth()
};

/// Risk factors shared by all piglets of a rearing sow.
struct RearingRisk {
  int parity;
  double rear_frailty;                  ///< Frailty::rear()
  double middle_frailty, late_frailty;  ///< Frailty::phase(), d2-7 and from d8
  double herd_frailty;                  ///< mortality level of the herd, 0 for the default herd
  double room_deg_c;
  double surplus_piglets;  ///< max(0, piglets - usable teats)
  FarrowingPlace place = FarrowingPlace::crate;
  bool sow_lame = false;     ///< leg or structural problems
  bool sow_ill = false;      ///< post-partum disorder
  bool low_drinker = false;  ///< d1-3
  bool bad_start = false;    ///< of lactation, d1-7
};

/// Risk factors of the individual piglet.
struct PigletRisk {
  double birth_weight_kg;
  double colostrum_g;  ///< projected intake on the first day, bottle-fed scale
  Sex sex;
  double kg_below_mates = 0;  ///< mean weight of its littermates less its own, negative if it is heavier
  double care = 0;            ///< NewbornCare::log_hazard(); Survival adds the centring
  double moved = 0;           ///< log hazard while a move still has an effect
  double unfed = 0;           ///< starvation hazard [1/d] of UnfedLitter
  bool splay_legged = false;
  bool scouring = false;
};

/// What all piglets of a litter that were born to one sow share at an age.
struct LitterRisk {
  std::size_t age;                        ///< Survival::age_index()
  double until_age_d;                     ///< Survival::next_boundary_d()
  double birth, rearing;                  ///< log hazards
  double crushing_ratio, starving_ratio;  ///< of the rearing sow
};

/// Cause-specific hazard of death of one piglet, from birth to weaning. Piecewise exponential, proportional hazards.
/// Equation:
///   rate [1/d] = hazard.base[age] / hazard.duration[age] * exp(own + birth + rearing + piglet)
///   own [log] = light_slope * max(0, weight_knee - BW) - heavy_slope * max(0, BW - weight_knee)
///     + colostrum_slope * colostrum_weight[age] * max(0, colostrum_knee - CI) / 100
///   birth [log] = u_birth + (first_week if day <= gestation_last_day)
///   first_week [log] = gestation_per_day * (min(GL, gestation_until) - gestation_centre)
///     + (three_stillborn_d0_1 if newborn, else three_stillborn_d2_8) * (SB3 - three_stillborn_centre)
///     + (farrowing_duration * max(0, FD - farrowing_duration_from) * fading if newborn)
///   fading [-] = clip((farrowing_duration_none_from_size - TB)
///     / (farrowing_duration_none_from_size - farrowing_duration_full_until_size), 0, 1)
///   rearing [log] = u_rear + u_herd + (v if day >= 2) + (modifiers.first_parity[day] if parity = 1)
///     + (hot_room_first_parity * max(0, T - hot_room_above) if parity = 1 and day < 8)
///     + (surplus_piglet * surplus if day >= 1)
///     + (cold_room_per_degree * max(0, cold_room_below - T) + cold_room_centre if newborn)
///   piglet [log] = (modifiers.male or modifiers.female) + moved + (competition * below_mates if day >= 1)
///     + (NewbornCare + newborn_care_centre if newborn) + (modifiers.splay_legged if 'splay-legged' and day < 8)
///   crushed [1/d] = rate * causes.crushed[age] * (legs.crushing_hazard_ratio if lame)
///     * (while_ill.crushing_hazard_ratio if ill) * (exp(modifiers.pen) if 'in a pen')
///     * (exp(parity_6_and_later) if parity >= 6 and newborn)
///   starved [1/d] = rate * starved_or_weak[age] * (while_ill.starvation_hazard_ratio if ill)
///     * (low_drinker.starvation_hazard_ratio if low_drinker) * (bad_start_starvation_ratio if bad_start) + unfed
///   other [1/d] = rate * causes.other[age]
///   scours [1/d] = rate * extra_hazard if 'scouring', else 0
/// Where: age [-] 0-24 h, 24-48 h, d2-3, d4-7, d8 and later; day [d] whole days of age; newborn [-] up to 48 h;
///   u_birth, u_rear, v [log] of Frailty, v drawn once for d2-7 and once from d8; u_herd [log] mortality level of the
///   herd; BW [kg] birth weight; CI [g] colostrum intake on the first day; GL [d] gestation length; SB3 [-] 1 if three
///   or more were stillborn, else 0; FD [min] farrowing duration; TB [piglets] total born; parity [-] of the rearing
///   sow; surplus [piglets] in excess of usable teats; T [degC] room temperature; moved [log] effect of moves;
///   below_mates [kg] weight below the mean of its littermates, negative above it; lame, ill, low_drinker, bad_start
///   [-] the rearing sow; unfed [1/d] hazard of UnfedLitter
/// Valid: from birth to 28 d
/// Source: fitted to Feldpausch et al. 2019, Devillers et al. 2011, Quiniou et al. 2002, Koketsu, Iida & Piñeiro 2021;
///   heat Nuntapaitoon & Tummaruk 2018 (the deaths of which cause is not known, so that it acts on all)
class Survival {
 public:
  explicit Survival(const Coefficients& coefficients);

  /// Hazard rates at this age; constant until next_boundary_d() if nothing else changes.
  PerCause operator()(const PigletRisk& piglet, const BirthRisk& birth, const RearingRisk& rearing,
                      double age_d) const {
    return (*this)(piglet, of_litter(birth, rearing, age_d));
  }
  PerCause operator()(const PigletRisk& piglet, const LitterRisk& litter) const;

  /// The part that littermates share.
  LitterRisk of_litter(const BirthRisk& birth, const RearingRisk& rearing, double age_d) const;

  /// Log hazard from birth weight and colostrum intake alone.
  double log_hazard(std::size_t age, double birth_weight_kg, double colostrum_g) const;

  /// Cumulative base hazard of an age interval, before any term; the last interval has a nominal length.
  double base(std::size_t age) const { return ages_[age].base_per_d * ages_[age].length_d; }

  /// Index of the age interval, 0 to survival_ages - 1.
  std::size_t age_index(double age_d) const;

  /// The next age at which the rates change [d]; infinity after the last.
  double next_boundary_d(double age_d) const;

  /// The hazard of a cause at an age, without any term [1/d]; of scours that of a piglet that has them.
  double base_per_day(double age_d, DeathCause cause) const;

  /// Above this birth weight the hazard falls slowly [kg]; between these temperatures it does not depend on them
  /// [degC].
  double weight_knee_kg() const { return weight_knee_kg_; }
  double cold_below_deg_c() const { return cold_below_deg_c_; }
  double hot_above_deg_c() const { return heat_above_deg_c_; }

  /// Log hazard from piglets in excess of usable teats, from 24 h.
  double surplus_term(double surplus_piglets) const { return surplus_ * surplus_piglets; }

 private:
  struct Age {
    double begins_d, length_d, base_per_d, colostrum_weight;
    PerCause share;
  };
  void read_ages(const Coefficients& coefficients);
  void read_hazard(const Coefficients& coefficients);
  void read_modifiers(const Coefficients& coefficients);
  double birth_terms(const BirthRisk& birth, double age_d) const;
  double rearing_terms(const RearingRisk& rearing, std::size_t age, double age_d) const;
  double piglet_terms(const PigletRisk& piglet, std::size_t age) const;
  double crushing_ratio(const RearingRisk& rearing, std::size_t age) const;
  double starving_ratio(const RearingRisk& rearing) const;

  std::array<Age, survival_ages> ages_;
  std::array<double, 3> first_parity_;
  double light_slope_, heavy_slope_, weight_knee_kg_, colostrum_per_g_, colostrum_knee_g_;
  double competition_per_kg_, male_, female_, surplus_, pen_ratio_, old_sow_ratio_, splay_legged_;
  double gestation_per_d_, gestation_centre_d_, gestation_until_d_, first_week_until_d_;
  double stillborn_first_, stillborn_later_, stillborn_centre_;
  double duration_per_min_, duration_from_min_, duration_full_until_, duration_none_from_;
  double cold_per_k_, cold_below_deg_c_, cold_centre_, heat_per_k_, heat_above_deg_c_, care_centre_;
  double lame_crushing_, ill_crushing_, ill_starving_, low_drinker_starving_, bad_start_starving_, scours_extra_;
};

/// The next death in a litter at current rates.
struct NextDeath {
  std::size_t slot = 0;
  DeathCause cause = DeathCause::other;
  double after_d = std::numeric_limits<double>::infinity();  ///< infinity if no death is due
};

/// Remaining thresholds and current rates of every piglet of a litter, contiguous in memory; only add() allocates.
///
/// Rates are constant between calls. Ties go to the lower slot, then to the earlier cause. A clock in whole seconds
/// must round after_d up, so that the death is due immediately after advance().
/// Equation:
///   left [-] = left_before - rate * elapsed 'for each piglet and cause'
///   next [d] = min(left / rate) 'over piglets and causes'
/// Where: left_before [-] remainder of a unit exponential draw for each piglet and cause; rate [1/d] of Survival;
///   elapsed [d] elapsed time
/// Valid: competing causes, independent given the rates
/// Source: piecewise exponential hazards, exact
class LitterHazards {
 public:
  void reserve(std::size_t piglets);

  /// Adds a piglet with the remainders of its four thresholds; returns its slot, which it keeps. Rates start at 0.
  std::size_t add(const PerCause& thresholds_left);

  /// Removes a piglet that dies or leaves; its slot stays empty. Returns the remaining thresholds, for its next litter.
  PerCause remove(std::size_t slot);

  void set_rates(std::size_t slot, const PerCause& per_d);

  /// Current rates of a piglet [1/d].
  const PerCause& rates(std::size_t slot) const { return per_d_.at(slot); }

  /// Advances time at current rates [d]; true if a death is then due.
  bool advance(double elapsed_d);

  NextDeath next() const;

  std::size_t slots() const { return left_.size(); }

 private:
  std::vector<PerCause> left_, per_d_;
};

}  // namespace farrowtide
