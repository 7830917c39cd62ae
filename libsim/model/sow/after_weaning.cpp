#include "libsim/model/sow/after_weaning.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numeric>

#include "libsim/kernel/errors.hpp"

namespace farrowtide {
namespace {

double from_odds(double odds) { return odds / (1 + odds); }
double odds_of(double probability) { return probability / (1 - probability); }

// Interval classes: 0-3, 4, 5, 6, 7-20 and 21 d or more, and none at all. The last three are the late classes.
constexpr std::size_t first_late_class = 4, last_shown_class = 5, anoestrous_class = 6;
constexpr std::array<int, 6> class_from_d{0, 4, 5, 6, 7, 21};

using Shares = std::array<double, 7>;

double late_share(const Shares& shares) {
  return std::accumulate(shares.begin() + first_late_class, shares.end(), 0.0);
}

// Changes the total share of the late classes; proportions within early and within late stay the same.
Shares with_late_share(const Shares& shares, double late) {
  const double old_late = late_share(shares);
  Shares moved = shares;
  for (std::size_t i = 0; i < moved.size(); ++i)
    moved[i] *= i < first_late_class ? (1 - late) / (1 - old_late) : late / old_late;
  return moved;
}

// Shifts the odds of every later class against all earlier ones alike.
Shares shifted(const Shares& shares, double logit) {
  const double odds_ratio = std::exp(logit);
  Shares moved{};
  double from_here = 1, moved_from_here = 1;  // probability of this class or a later one
  for (std::size_t i = 0; i + 1 < shares.size(); ++i) {
    const double later = std::max(0.0, from_here - shares[i]);
    const double moved_later = later * odds_ratio / (1 - later + later * odds_ratio);
    moved[i] = moved_from_here - moved_later;
    from_here = later;
    moved_from_here = moved_later;
  }
  moved.back() = moved_from_here;
  return moved;
}

}  // namespace

WeaningToOestrus::WeaningToOestrus(const Coefficients& coefficients)
    : per_piglet_(coefficients.number("sow.after_weaning.interval.per_piglet", "logit/piglet")),
      piglet_centre_(coefficients.number("sow.after_weaning.interval.per_piglet_centre", "piglets")),
      per_kg_intake_(coefficients, "sow.after_weaning.interval.per_kg_intake", "logit/kg"),
      per_lactation_day_(coefficients.number("sow.after_weaning.interval.per_lactation_day", "logit/d")),
      day_centre_(coefficients.number("sow.after_weaning.interval.lactation_day_centre", "d")),
      shortest_d_(coefficients.number("sow.after_weaning.interval.lactation_day_least", "d")),
      longest_d_(coefficients.number("sow.after_weaning.interval.lactation_day_most", "d")),
      per_percent_loss_(coefficients.number("sow.after_weaning.interval.per_percent_loss", "logit/%")),
      per_percent_severe_(coefficients, "sow.after_weaning.interval.per_percent_severe_loss", "logit/%"),
      severe_from_pct_(coefficients.number("sow.after_weaning.interval.severe_loss_from", "%")),
      heat_from_deg_c_(coefficients.number("sow.after_weaning.interval.heat_from", "degC")),
      intake_centre_(coefficients, "sow.after_weaning.interval.intake_centre", "kg/d"),
      loss_threshold_(coefficients, "sow.after_weaning.interval.loss_threshold", "%"),
      loss_centre_(coefficients, "sow.after_weaning.interval.loss_centre", "%"),
      severe_centre_(coefficients, "sow.after_weaning.interval.severe_loss_centre", "%"),
      heat_slope_(coefficients, "sow.after_weaning.interval.heat", "logit/K"),
      late_mean_d_(coefficients.number("sow.after_weaning.interval.late_oestrus_mean", "d")),
      latest_d_(coefficients.number("sow.after_weaning.interval.latest", "d")) {
  const auto& shares = coefficients.table("sow.after_weaning.interval.first_parity_share", "-");
  if (shares.size() != class_from_d.size()) throw InternalError("the oestrus interval has six classes");
  const double anoestrous = coefficients.number("sow.after_weaning.interval.anoestrous_share", "-");
  const double total = std::accumulate(shares.begin(), shares.end(), 0.0);
  for (std::size_t i = 0; i < shares.size(); ++i) first_parity_share_[i] = (1 - anoestrous) * shares[i] / total;
  first_parity_share_[anoestrous_class] = anoestrous;
  const double later = coefficients.number("sow.after_weaning.interval.later_parity_late_share", "-");
  later_parity_share_ = with_late_share(first_parity_share_, later * late_share(first_parity_share_));
}

double WeaningToOestrus::loss_term(const LactationPast& sow) const {
  const double beyond_pct = std::max(0.0, sow.weight_loss_pct - loss_threshold_[sow.parity]);
  const double severe_pct = std::max(0.0, sow.weight_loss_pct - severe_from_pct_);
  return per_percent_loss_ * (beyond_pct - loss_centre_[sow.parity]) +
         per_percent_severe_[sow.parity] * (severe_pct - severe_centre_[sow.parity]);
}

double WeaningToOestrus::predictor(const LactationPast& sow) const {
  const double piglets = per_piglet_ * (sow.piglets - piglet_centre_);
  const double intake = per_kg_intake_[sow.parity] * (sow.intake_kg_per_day - intake_centre_[sow.parity]);
  const double length_d = std::clamp(sow.lactation_length_d, shortest_d_, longest_d_);
  const double length = per_lactation_day_ * (length_d - day_centre_);
  const double heat = heat_slope_[sow.parity] * std::max(0.0, sow.effective_temperature_deg_c - heat_from_deg_c_);
  return piglets + length + intake + loss_term(sow) + heat;
}

std::array<double, 7> WeaningToOestrus::class_shares(const LactationPast& sow) const {
  return shifted(sow.parity == 1 ? first_parity_share_ : later_parity_share_, predictor(sow));
}

std::optional<int> WeaningToOestrus::operator()(const LactationPast& sow, double uniform) const {
  const Shares shares = class_shares(sow);
  std::size_t i = 0;
  double below = 0;
  while (i < anoestrous_class && uniform >= below + shares[i]) below += shares[i++];
  if (i == anoestrous_class) return std::nullopt;
  const double within = std::clamp((uniform - below) / shares[i], 0.0, 1.0);
  if (i < last_shown_class) {
    const int days = class_from_d[i + 1] - class_from_d[i];
    return class_from_d[i] + std::min(days - 1, static_cast<int>(within * days));
  }
  // The last class is exponential, truncated at the latest day.
  const double cut = 1 - std::exp(-(latest_d_ - class_from_d[i]) / late_mean_d_);
  return class_from_d[i] + static_cast<int>(std::lround(-late_mean_d_ * std::log1p(-within * cut)));
}

FarrowingRate::FarrowingRate(const Coefficients& coefficients)
    : base_(coefficients.number("sow.after_weaning.farrowing_rate.base", "-")),
      at_6_to_7_(coefficients.number("sow.after_weaning.farrowing_rate.interval_6_to_7", "-")),
      at_8_to_12_(coefficients.number("sow.after_weaning.farrowing_rate.interval_8_to_12", "-")),
      per_percent_(coefficients.number("sow.after_weaning.farrowing_rate.per_percent_loss", "1/%")),
      loss_threshold_(coefficients.number("sow.after_weaning.farrowing_rate.loss_threshold", "%")),
      heavy_(coefficients.number("sow.after_weaning.farrowing_rate.heavy_loss", "-")),
      heavy_above_(coefficients.number("sow.after_weaning.farrowing_rate.heavy_loss_above", "%")),
      odds_ratio_(coefficients.number("sow.after_weaning.farrowing_rate.long_farrowing_odds_ratio", "-")),
      long_min_(coefficients.number("sow.farrowing.help.alarm_duration", "min")) {}

double FarrowingRate::operator()(const LactationPast& sow, int weaning_to_service_d) const {
  double rate = base_;
  if (weaning_to_service_d >= 6 && weaning_to_service_d <= 7) rate += at_6_to_7_;
  if (weaning_to_service_d >= 8 && weaning_to_service_d <= 12) rate += at_8_to_12_;
  rate += per_percent_ * std::max(0.0, sow.weight_loss_pct - loss_threshold_);
  if (sow.weight_loss_pct > heavy_above_) rate += heavy_;
  rate = std::clamp(rate, 0.0, 1.0);
  if (sow.farrowing_duration_min <= long_min_ || rate == 0) return rate;
  return 1 - from_odds(odds_ratio_ * odds_of(1 - rate));
}

NextTotalBorn::NextTotalBorn(const Coefficients& coefficients)
    : first_parity_(coefficients.number("sow.after_weaning.next_total_born.first_parity", "piglets/(kg/d)")),
      later_parities_(coefficients.number("sow.after_weaning.next_total_born.later_parities", "piglets/(kg/d)")) {}

double NextTotalBorn::operator()(const LactationPast& sow, double herd_mean_loss_kg_per_day) const {
  return (sow.parity == 1 ? first_parity_ : later_parities_) * (sow.weight_loss_kg_per_day - herd_mean_loss_kg_per_day);
}

RemovalRisk::RemovalRisk(const Coefficients& coefficients)
    : base_(coefficients.number("sow.after_weaning.removal.base", "-")),
      late_(coefficients.number("sow.after_weaning.removal.late_service", "-")),
      late_from_d_(coefficients.number("sow.after_weaning.removal.late_service_from", "d")),
      low_intake_odds_(coefficients.number("sow.after_weaning.removal.low_intake_odds_ratio", "-")),
      low_intake_kg_(coefficients.number("sow.after_weaning.removal.low_intake_at_most", "kg/d")),
      zero_day_odds_(coefficients.number("sow.after_weaning.removal.zero_feed_day_odds_ratio", "-")),
      lame_odds_(coefficients.number("sow.legs.removal_odds_ratio", "-")),
      usual_lame_odds_(1 + coefficients.number("sow.legs.prevalence", "-") * (lame_odds_ - 1)),
      anoestrous_(coefficients.number("sow.after_weaning.removal.anoestrous", "-")),
      window_last_day_(static_cast<int>(coefficients.number("sow.after_weaning.removal.window_last_day", "d"))) {}

double RemovalRisk::operator()(const LactationPast& sow, std::optional<int> weaning_to_service_d) const {
  if (!weaning_to_service_d) return anoestrous_;
  double odds = odds_of(base_ + (*weaning_to_service_d >= late_from_d_ ? late_ : 0));
  if (sow.early_intake_kg_per_day <= low_intake_kg_) odds *= low_intake_odds_;
  if (sow.zero_feed_day_early) odds *= zero_day_odds_;
  odds *= (sow.lame ? lame_odds_ : 1) / usual_lame_odds_;
  return from_odds(odds);
}

}  // namespace farrowtide
