#include "libsim/model/litter/scours.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

Scours::Scours(const Coefficients& coefficients)
    : late_per_day_{coefficients.number("litter.scours.onset_late", "1/d")},
      herd_scale_{coefficients.number("litter.scours.herd_scale", "-")},
      problem_multiplier_{coefficients.number("litter.scours.problem_herd_multiplier", "-")},
      first_parity_usual_{coefficients.number("litter.scours.first_parity_multiplier_endemic", "-")},
      sick_sow_{coefficients.number("litter.scours.sick_sow_multiplier", "-")},
      attack_{coefficients.number("litter.scours.attack", "-")},
      attack_first_parity_{coefficients.number("litter.scours.attack_first_parity", "-")},
      mean_days_{coefficients.number("litter.scours.duration_mean", "d")},
      untreated_{coefficients.number("litter.scours.untreated_duration", "-")},
      gain_loss_days_{coefficients.number("litter.scours.gain_loss_days", "d")},
      gain_loss_last_day_{static_cast<int>(coefficients.number("litter.scours.gain_loss_last_day", "d"))},
      widespread_from_{coefficients.number("litter.scours.widespread_from", "-")} {
  const auto& loss = coefficients.table("litter.scours.gain_loss", "g/d");
  for (std::size_t i = 0; i < gain_loss_g_per_day_.size(); ++i)
    gain_loss_g_per_day_[i] = loss.at(i) * gain_loss_last_day_ / gain_loss_days_;
  read_onset(coefficients);
}

void Scours::read_onset(const Coefficients& coefficients) {
  const auto scours = coefficients.group("litter.scours");
  const auto& early = scours.table("onset_early_days", "d");
  const auto& peak = scours.table("onset_peak_days", "d");
  first_day_ = static_cast<int>(early.at(0));
  early_last_day_ = static_cast<int>(early.at(1));
  peak_first_day_ = static_cast<int>(peak.at(0));
  peak_last_day_ = static_cast<int>(peak.at(1));
  last_day_ = static_cast<int>(scours.number("onset_late_last_day", "d"));
  const int early_days = early_last_day_ - first_day_ + 1;
  const int peak_days = peak_last_day_ - peak_first_day_ + 1;
  const double early_hazard = early_days * scours.number("onset_early", "1/d");
  const double peak_weight = scours.number("onset_peak_weight", "-");
  peak_per_day_ = early_hazard * peak_weight / peak_days;
  off_peak_per_day_ = early_hazard * (1 - peak_weight) / (early_days - peak_days);
  // The odds ratio of first-parity litters is for ever being affected, so it is converted once to a hazard ratio.
  const double older_hazard = problem_multiplier_ * (early_hazard + (last_day_ - early_last_day_) * late_per_day_);
  const double odds_ratio = scours.number("first_parity_odds_ratio_problem", "-");
  first_parity_problem_ = std::log1p(odds_ratio * std::expm1(older_hazard)) / older_hazard;
}

double Scours::base_per_day(int lactation_day) const {
  if (lactation_day < first_day_ || lactation_day > last_day_) return 0;
  if (lactation_day > early_last_day_) return late_per_day_;
  const bool at_peak = lactation_day >= peak_first_day_ && lactation_day <= peak_last_day_;
  return at_peak ? peak_per_day_ : off_peak_per_day_;
}

double Scours::onset_per_day(const ScoursRisk& risk) const {
  const bool usual = risk.level == ScoursLevel::usual;
  double per_day = base_per_day(risk.lactation_day) * (usual ? herd_scale_ : problem_multiplier_);
  if (risk.parity == 1) per_day *= usual ? first_parity_usual_ : first_parity_problem_;
  if (risk.sow_was_ill) per_day *= sick_sow_;
  return per_day;
}

int Scours::days_ill(double uniform) const {
  const double stays_ill = 1 - 1 / mean_days_;
  return stays_ill > 0 ? 1 + static_cast<int>(std::log1p(-uniform) / std::log(stays_ill)) : 1;
}

int Scours::untreated_days(int days) const { return static_cast<int>(std::lround(untreated_ * days)); }

double Scours::gain_loss_g_per_day(const ScoursHistory& history) const {
  const auto [one_day, longer, widespread] = gain_loss_g_per_day_;
  const bool measured = history.lactation_day <= gain_loss_last_day_;
  const double own = history.days_ill == 0 ? 0 : history.days_ill == 1 ? one_day : longer;
  if (!measured) return history.ill_now ? own : 0;
  return history.share_of_litter_ill >= widespread_from_ ? std::max(own, widespread) : own;
}

}  // namespace farrowtide
