#pragma once

#include <array>
#include <optional>

#include "libsim/kernel/names.hpp"
#include "libsim/model/litter/birth_weight.hpp"

namespace farrowtide {

class Coefficients;

/// Farrowing accommodation; a pen, or a crate opened for farrowing, shortens labour and increases crushing.
enum class FarrowingPlace { crate, pen };
constexpr auto names(FarrowingPlace) {
  return std::to_array<Name<FarrowingPlace>>({{FarrowingPlace::crate, "crate"}, {FarrowingPlace::pen, "pen"}});
}

/// Relative birth rank, 0 for the first piglet to 1 for the last; 0 in a litter of one.
constexpr double relative_birth_rank(int birth_rank, int total_born) {
  return total_born > 1 ? static_cast<double>(birth_rank - 1) / (total_born - 1) : 0.0;
}

/// Conditions that shorten or prolong a sow's labour.
struct LabourConditions {
  int parity;
  double backfat_mm;          ///< P2, 8-28
  double constipation_score;  ///< 0-5, high means constipated
  double room_deg_c;
  std::optional<double> hours_since_last_meal = {};  ///< at onset; nullopt omits the meal term and its centring
  FarrowingPlace place = FarrowingPlace::crate;
  bool fibre_added = false;
};

/// Birth interval: minutes of labour from one birth to the next. Lognormal, longer for the first and last piglets of a
/// litter.
/// Equation:
///   r [-] = (k - 1) / (TB - 1)
///   log_min [log min] = level + size_slope * ln((TB - 1) / size_reference) + modifiers + u
///     + interval_sd * z - interval_mean_correction
///   interval [min] = exp(log_min) * shape(r)
///   shape(r) [-] = 1 + early_rise * (1 - r / early_until) if r < early_until;
///     1 + late_rise * (r - late_from) / (1 - late_from) if r > late_from; else 1
///   modifiers [log] = interval_modifiers.parity[class] + parity_and_backfat_centre
///     + backfat * max(0, P2 - backfat_from) + constipation * max(0, score - constipation_from)
///     + constipation_centre
///     + room_temperature * max(0, T - room_temperature_from)
///     + meal + (pen if 'in a pen') + (fibre if 'fibre is added')
///   meal [log] = ln(1 + kappa * meal_term.slope * clip(hours - starts_at, 0, span)) + meal_centre
///   treated [log] = veterinary_treatment_in_labour
/// Where: k [-] birth rank, from 2; TB [piglets] total born; u [log] permanent effect of the sow; z [-] standard normal
///   draw per birth; class [-] parity 1, 2-4, 5 and later; P2 [mm] backfat; score [score] constipation score; T [degC]
///   room temperature; hours [h] since her last meal, if missing the term is omitted; treated is added after treatment
///   by a veterinarian
/// Valid: litters of 2-25; P2 of 8-28 mm
/// Source: fitted to Gourley et al. 2020, Nam & Sukon 2022, van den Bosch et al. 2022; meal term Feyera et al. 2018
class BirthInterval {
 public:
  explicit BirthInterval(const Coefficients& coefficients);

  /// Labour before piglet `birth_rank` (2 to total_born); sow_effect is on the log scale, z standard normal.
  double operator()(int birth_rank, int total_born, double log_modifiers, double sow_effect, double z) const;

  /// Sum of the modifiers on the log scale, centred on the default herd.
  double log_modifiers(const LabourConditions& conditions) const;

  /// Prolongation by hours since the last meal actually eaten, log scale, not centred. Feyera et al. 2018, J Anim Sci
  /// 96:2320.
  double meal_term(double hours_since_last_meal) const;

  /// Multiplier by relative birth rank: high for the first piglets, 1 in the middle, highest for the last.
  double shape(double relative_rank) const;

  /// Added to the log of later intervals after treatment by a veterinarian during labour.
  double veterinary_treatment() const { return veterinary_treatment_; }

 private:
  double level_, size_slope_, size_reference_, interval_sd_, mean_correction_, body_centre_, constipation_centre_,
      meal_centre_;
  double early_rise_, early_until_, late_from_, late_rise_;
  double pen_, backfat_per_mm_, backfat_from_mm_, constipation_per_score_, constipation_from_, warmth_per_k_,
      warm_from_deg_c_;
  double fibre_, veterinary_treatment_;
  std::array<double, 3> parity_;
  double kappa_, meal_slope_, meal_from_h_, meal_span_h_;
};

/// Progress of a farrowing towards an episode of uterine inertia, and the time left of the current episode.
struct InertiaState {
  double threshold;        ///< unit exponential, redrawn after each episode begins
  double accumulated = 0;  ///< towards the threshold
  double left_min = 0;     ///< of the current episode
};

/// Uterine inertia: episodes in which labour proceeds at a tenth of its speed, so that slow births and farrowing
/// assistance cluster within sows.
/// Equation:
///   accumulated [-] = sum(entry * (1 + CT / time_scale)) 'over the intervals since the last episode'
///   begins if accumulated >= threshold
///   spell [min] = duration_median * exp(duration_sd * z)
///   elapsed(m) [min] = m / labour_speed if m <= labour_speed * left, else left + (m - labour_speed * left)
/// Where: CT [min] time since the first birth, at the start of an interval; threshold [-] unit exponential draw; begins
///   [-] an episode begins; spell is the length of an episode; z [-] standard normal draw; m [min] labour time without
///   inertia; left [min] time left of the episode
/// Valid: supervised farrowings
/// Source: entry rate fitted to Wongwaipisitkul et al. 2023 and Gourley et al. 2020; the rest assumed
class Inertia {
 public:
  explicit Inertia(const Coefficients& coefficients);

  /// Contribution to the threshold of an interval that starts this long after the first birth.
  double increment(double since_first_birth_min) const;

  /// Adds the interval that starts now; true if an episode begins with it. The caller then sets a new threshold and
  /// `left_min` in the state. Nothing accumulates during an episode.
  bool begins(InertiaState& state, double since_first_birth_min) const;

  /// Length of an episode [min], z standard normal.
  double duration_min(double z) const;

  /// Elapsed minutes for `labour_min` of labour without inertia when `inertia_left_min` of an episode remain.
  double elapsed_min(double labour_min, double inertia_left_min) const;

  /// Labour completed in `clock_min` elapsed minutes: the inverse of elapsed_min().
  double labour_done_min(double clock_min, double inertia_left_min) const;

 private:
  double entry_, time_scale_min_, log_median_min_, log_sd_, speed_;
};

/// The end of a labour that nobody ends: piglets not born by then are dead, and the sow passes them all at once.
/// Equation:
///   birth [min] = min(CT, 60 * longest_labour)
///   dead if CT >= 60 * longest_labour
/// Where: CT [min] time since the first birth at which a piglet would be born; dead [-] is stillborn
/// Valid: labours of any length; few reach it
/// Source: common practice, no source
class LabourEnd {
 public:
  explicit LabourEnd(const Coefficients& coefficients);
  /// Longest time from the first birth to the last [min].
  double longest_min() const { return longest_min_; }

 private:
  double longest_min_;
};

/// Outcome of examining a sow in labour and of having a person present; the attendance policy decides when.
///
/// An examination is a skilled internal procedure, taught and supervised by the herd veterinarian; it carries risk for
/// the sow. The engine only counts examinations.
/// Equation:
///   success if uniform < help.success; 'birth follows after' delivered_after
///   revived [-] = revival_base + revival_per_care * q 'if assisted or a person arrived within' reach_within
///   q [-] = care_intensity 'unless a scenario sets it'
///   alarm if FD > alarm_duration
/// Where: success [-] a piglet is delivered; uniform [-] uniform draw between 0 and 1; FD [min] farrowing duration;
///   alarm [-] the usual alarm limit in practice
/// Valid: care intensity 0-1
/// Source: revival fitted to Monteiro et al. 2022 and White 1996; success assumed
class HelpRules {
 public:
  explicit HelpRules(const Coefficients& coefficients);

  bool succeeds(double uniform) const { return uniform < success_; }

  /// Time from the start of a successful examination to delivery [min]; an episode of inertia continues.
  double delivered_after_min() const { return delivered_after_min_; }

  /// Probability that a piglet that can be saved is revived, if the birth was assisted or a person arrived within
  /// reach_within_min().
  double revival_probability(double care_intensity) const { return revival_base_ + revival_per_care_ * care_intensity; }
  double reach_within_min() const { return reach_within_min_; }

  /// The default care intensity, 0-1.
  double care_intensity() const { return care_intensity_; }

  /// Farrowing duration that counts as an alarm in practice [min].
  double alarm_duration_min() const { return alarm_duration_min_; }

 private:
  double success_, delivered_after_min_, revival_base_, revival_per_care_;
  double reach_within_min_, care_intensity_, alarm_duration_min_;
};

/// Litter-level risk factors for stillbirth.
struct StillbirthLitter {
  int total_born;
  int parity;
  double backfat_mm;
  double room_deg_c;
  double gestation_d;
  double litter_effect;                              ///< log-odds, see Stillbirth::litter_effect()
  std::optional<double> hours_since_last_meal = {};  ///< at onset; nullopt omits the meal term and its centring
  bool fibre_added = false;
  bool over_one_stillborn_before = false;  ///< in her previous litter; litter_effect must then exclude her own effect
  double intercept_shift = 0;              ///< log-odds, solved to match a herd's own rate under its own attendance
};

/// Piglet-level risk factors for stillbirth.
struct StillbirthPiglet {
  double relative_rank;          ///< 0-1
  double since_first_birth_min;  ///< elapsed time
  double interval_min;           ///< elapsed time since the previous birth
  double weight_kg;
  Sex sex;
};

/// Probability that a piglet is stillborn unless revived. The intercept is for a herd with supervised farrowings.
/// Equation:
///   litter [logit] = intercept + herd + litter_size * (TB - litter_size_centre)
///     + litter_size_above * max(0, TB - litter_size_bend) + litter_sd * z + age + parity_centre
///     + (hot if T > hot_above) + (short_gestation if GL < short_gestation_below) + (add_ons.fibre if 'fibre is added')
///     + (previous_stillborn if 'more than one in her last litter') + meal
///   age [logit] = parity_3_to_4 if 3 <= parity <= 4; parity_5_and_later if parity >= 5, and then
///     + thin_old_sow if P2 < thin_old_sow_backfat_below; else 0
///   meal [logit] = hours_since_meal_weight * (hours_since_meal[hours] + hours_since_meal_centre)
///   logit [logit] = litter + birth_order * r + birth_order_cubed * r^3 + cumulative_time * CT / 60
///     + logit.interval * min(interval_min, interval_cap)
///     + (low_birth_weight if BW < low_birth_weight_below) + weight_centre + (male or female)
///   p [-] = 1 / (1 + exp(-logit))
///   before_labour if uniform < pre_labour_share
/// Where: TB [piglets] total born; herd [logit] shift solved to match a herd's own rate; z [-] standard normal draw per
///   litter; T [degC] room temperature; GL [d] gestation length; parity [-] of the sow; P2 [mm] backfat; hours [h]
///   since her last meal, if missing the term is omitted; r [-] relative birth rank, 0 first to 1 last; CT [min] time
///   since the first birth; interval_min [min] time since the previous birth; BW [kg] birth weight; uniform [-] uniform
///   draw between 0 and 1; before_labour [-] died before labour, cannot be saved
/// Valid: litters of 2-25
/// Source: fitted to Gourley et al. 2020, Nam & Sukon 2022, van den Bosch et al. 2022; add-ons as stated for each
///   coefficient
class Stillbirth {
 public:
  explicit Stillbirth(const Coefficients& coefficients);

  double litter_logit(const StillbirthLitter& litter) const;
  double logit(double litter_logit, const StillbirthPiglet& piglet) const;
  double probability(double litter_logit, const StillbirthPiglet& piglet) const;

  /// Litter effect in log-odds, z standard normal.
  double litter_effect(double z) const { return litter_sd_ * z; }

  /// Whether a dead piglet died before labour and could not have been saved.
  bool died_before_labour(double uniform) const { return uniform < pre_labour_share_; }

 private:
  double meal_term(double hours) const;

  double intercept_, rank_, rank_cubed_, per_hour_, interval_per_min_, interval_cap_min_, per_piglet_, centre_piglets_,
      bend_piglets_, above_per_piglet_;
  double litter_sd_, pre_labour_share_;
  double parity_3_to_4_, parity_5_up_, parity_centre_, light_, light_below_kg_, weight_centre_, male_, female_;
  double thin_old_, thin_below_mm_, hot_, hot_above_deg_c_, fibre_, stillborn_before_;
  double short_gestation_, short_gestation_below_d_;
  std::array<double, 3> meal_;
  double meal_from_h_, meal_until_h_, meal_centre_, meal_weight_;
};

/// Newborn care: drying, clearing airways, warming and placing at the udder. Log hazard of death over the first 48 h,
/// never positive.
/// Equation:
///   care [log] = q * ln(newborn_care_hazard_ratio) * max(0, 1 - delay / newborn_care_reach)
/// Where: q [-] care intensity, 0-1; delay [min] time from birth to care
/// Valid: the first 48 h
/// Source: White 1996, Can J Anim Sci 76:491 (60 litters); reach assumed
class NewbornCare {
 public:
  explicit NewbornCare(const Coefficients& coefficients);

  /// care_intensity 0-1, delay from birth to care [min].
  double log_hazard(double care_intensity, double delay_min) const;

 private:
  double full_log_hazard_, reach_min_;
};

/// Placenta: time of complete expulsion, and whether it is retained.
/// Equation:
///   expelled [min] = expulsion_median * exp(expulsion_sd * z)
///   retained [-] = 1 / (1 + exp(-(retention_intercept + retention_per_minute * FD)))
///   late if expelled > late_after
/// Where: expelled is counted from the last piglet; FD [min] farrowing duration; z [-] standard normal draw; late [-]
///   delayed, a risk factor for a post-partum disorder
/// Valid: farrowings up to 15 h
/// Source: Björkman, doctoral thesis, University of Helsinki
class Placenta {
 public:
  explicit Placenta(const Coefficients& coefficients);

  /// Time from the last piglet to the last placenta [min], z standard normal.
  double expelled_after_min(double z) const;
  double retention_logit(double farrowing_duration_min) const {
    return retention_ + retention_per_min_ * farrowing_duration_min;
  }
  double retention_probability(double farrowing_duration_min) const;
  bool is_late(double expelled_after_min) const { return expelled_after_min > late_after_min_; }

 private:
  double log_median_min_, log_sd_, retention_, retention_per_min_, late_after_min_;
};

}  // namespace farrowtide
