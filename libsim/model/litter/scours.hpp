#pragma once

#include <array>

#include "libsim/kernel/names.hpp"

namespace farrowtide {

class Coefficients;

/// Level of piglet scours in a herd. Problem herds: Kongsted et al. 2014, BMC Vet Res 10:151.
enum class ScoursLevel { usual, problem };
constexpr auto names(ScoursLevel) {
  return std::to_array<Name<ScoursLevel>>({{ScoursLevel::usual, "usual"}, {ScoursLevel::problem, "problem"}});
}

/// Risk factors for scours in a litter.
struct ScoursRisk {
  int lactation_day;
  int parity;
  bool sow_was_ill = false;  ///< has or had a post-partum disorder
  ScoursLevel level = ScoursLevel::usual;
};

/// History of scours in one piglet and its litter.
struct ScoursHistory {
  int lactation_day;
  int days_ill = 0;                ///< of this piglet, to date
  bool ill_now = false;            ///< this piglet
  double share_of_litter_ill = 0;  ///< share of the suckling piglets that are or were ill
};

/// Scours in a litter on d1-14: outbreak, piglets affected, duration and loss of gain.
///
/// 6.8 % of litters in the default herd are affected. The additional mortality is in Survival.
/// Equation:
///   early [-] = onset_early * n_early
///   base [1/d] = early * onset_peak_weight / n_peak 'on' onset_peak_days
///     or early * (1 - onset_peak_weight) / (n_early - n_peak) 'on the other' onset_early_days
///     or onset_late 'from then to' onset_late_last_day, else 0
///   first [-] = first_parity_multiplier_endemic 'in the usual herd, in a problem herd'
///     ln(1 + first_parity_odds_ratio_problem * (exp(older) - 1)) / older
///   older [-] = problem_herd_multiplier * sum(base)
///   onset [1/d] = base * (herd_scale or problem_herd_multiplier) * (first if parity = 1)
///     * (sick_sow_multiplier if 'she is or was ill')
///   taken if uniform < (attack_first_parity if parity = 1, else attack)
///   ill [d] = 1 + floor(ln(1 - uniform) / ln(1 - 1 / duration_mean)) 'if the litter is treated'
///   untreated [d] = round(untreated_duration * ill)
///   loss [g/d] = gain_loss[ill] * gain_loss_last_day / gain_loss_days 'to' gain_loss_last_day
///     'and later only while it is ill'; 'the last one for every piglet of the litter' if share >= widespread_from
/// Where: n_early, n_peak [d] number of days in those periods; parity [-] of the sow; taken [-] a piglet of the litter
///   is affected; uniform [-] uniform draws between 0 and 1, per piglet; share [-] share of the litter that is or was
///   ill, up to gain_loss_last_day
/// Valid: d1-14
/// Source: Svensmark et al. 1989; Kongsted et al. 2014; hazards, attack rates and what treatment does assumed
class Scours {
 public:
  explicit Scours(const Coefficients& coefficients);

  /// Hazard of an outbreak in a litter on this day [1/d]; 0 outside d1-14.
  double onset_per_day(const ScoursRisk& risk) const;

  /// Whether this piglet of an affected litter falls ill; one uniform draw per piglet.
  bool takes(int parity, double uniform) const { return uniform < (parity == 1 ? attack_first_parity_ : attack_); }

  /// Number of days a treated piglet is ill, at least 1 (geometric).
  int days_ill(double uniform) const;
  /// The same if nobody treats the litter.
  int untreated_days(int days) const;

  /// Loss of gain [g/d]: for a piglet from its first day of illness to d10, later only while it is ill; up to d10 also
  /// for every piglet of a litter in which half or more of the piglets were ill.
  double gain_loss_g_per_day(const ScoursHistory& history) const;

 private:
  void read_onset(const Coefficients& coefficients);
  double base_per_day(int lactation_day) const;

  int first_day_, early_last_day_, peak_first_day_, peak_last_day_, last_day_;
  double peak_per_day_, off_peak_per_day_, late_per_day_;
  double herd_scale_, problem_multiplier_, first_parity_usual_, first_parity_problem_, sick_sow_;
  double attack_, attack_first_parity_, mean_days_, untreated_;
  std::array<double, 3> gain_loss_g_per_day_;
  double gain_loss_days_;
  int gain_loss_last_day_;
  double widespread_from_;
};

}  // namespace farrowtide
