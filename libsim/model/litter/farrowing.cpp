#include "libsim/model/litter/farrowing.hpp"

#include <algorithm>
#include <cmath>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

#include "libsim/model/curves/parity_class.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {
namespace {

constexpr double minutes_an_hour = 60;

double probability_of(double logit) { return 1 / (1 + std::exp(-logit)); }

double above(double value, double from) { return std::max(0.0, value - from); }

/// Lower and upper end of an axis label such as "3-6".
std::pair<double, double> range_of(const std::string& label) {
  return {std::stod(label), std::stod(label.substr(label.find('-') + 1))};
}

std::array<double, 3> three(const std::vector<double>& table) { return {table.at(0), table.at(1), table.at(2)}; }

}  // namespace

BirthInterval::BirthInterval(const Coefficients& coefficients) {
  const auto intervals = coefficients.group("sow.farrowing.intervals");
  level_ = intervals.number("level", "log min");
  size_slope_ = intervals.number("size_slope", "log");
  size_reference_ = intervals.number("size_reference", "-");
  interval_sd_ = intervals.number("interval_sd", "log");
  mean_correction_ = intervals.number("interval_mean_correction", "log");
  body_centre_ = intervals.number("parity_and_backfat_centre", "log");
  constipation_centre_ = intervals.number("constipation_centre", "log");
  meal_centre_ = intervals.number("meal_centre", "log");
  const auto shape = coefficients.group("sow.farrowing.interval_shape");
  early_rise_ = shape.number("early_rise", "-");
  early_until_ = shape.number("early_until", "-");
  late_from_ = shape.number("late_from", "-");
  late_rise_ = shape.number("late_rise", "-");
  const auto modifiers = coefficients.group("sow.farrowing.interval_modifiers");
  pen_ = modifiers.number("pen", "log");
  parity_ = three(modifiers.table("parity", "log"));
  backfat_per_mm_ = modifiers.number("backfat", "log/mm");
  backfat_from_mm_ = modifiers.number("backfat_from", "mm");
  constipation_per_score_ = modifiers.number("constipation", "log/score");
  constipation_from_ = modifiers.number("constipation_from", "score");
  warmth_per_k_ = modifiers.number("room_temperature", "log/K");
  warm_from_deg_c_ = modifiers.number("room_temperature_from", "degC");
  fibre_ = modifiers.number("fibre", "log");
  veterinary_treatment_ = modifiers.number("veterinary_treatment_in_labour", "log");
  const auto meal = coefficients.group("sow.farrowing.meal_term");
  kappa_ = meal.number("kappa", "-");
  meal_slope_ = meal.number("slope", "1/h");
  meal_from_h_ = meal.number("starts_at", "h");
  meal_span_h_ = meal.number("span", "h");
}

double BirthInterval::operator()(int birth_rank, int total_born, double log_modifiers, double sow_effect,
                                 double z) const {
  const double log_min = level_ + size_slope_ * std::log((total_born - 1) / size_reference_) + log_modifiers +
                         sow_effect + interval_sd_ * z - mean_correction_;
  return std::exp(log_min) * shape(relative_birth_rank(birth_rank, total_born));
}

double BirthInterval::log_modifiers(const LabourConditions& conditions) const {
  double sum = parity_[parity_class(conditions.parity)] + body_centre_ + constipation_centre_;
  sum += backfat_per_mm_ * above(conditions.backfat_mm, backfat_from_mm_);
  sum += constipation_per_score_ * above(conditions.constipation_score, constipation_from_);
  sum += warmth_per_k_ * above(conditions.room_deg_c, warm_from_deg_c_);
  if (conditions.hours_since_last_meal) sum += meal_term(*conditions.hours_since_last_meal) + meal_centre_;
  if (conditions.place == FarrowingPlace::pen) sum += pen_;
  if (conditions.fibre_added) sum += fibre_;
  return sum;
}

double BirthInterval::meal_term(double hours_since_last_meal) const {
  return std::log1p(kappa_ * meal_slope_ * std::clamp(hours_since_last_meal - meal_from_h_, 0.0, meal_span_h_));
}

double BirthInterval::shape(double relative_rank) const {
  if (relative_rank < early_until_) return 1 + early_rise_ * (1 - relative_rank / early_until_);
  if (relative_rank > late_from_) return 1 + late_rise_ * (relative_rank - late_from_) / (1 - late_from_);
  return 1;
}

Inertia::Inertia(const Coefficients& coefficients)
    : entry_{coefficients.number("sow.farrowing.inertia.entry", "-")},
      time_scale_min_{coefficients.number("sow.farrowing.inertia.time_scale", "min")},
      log_median_min_{std::log(coefficients.number("sow.farrowing.inertia.duration_median", "min"))},
      log_sd_{coefficients.number("sow.farrowing.inertia.duration_sd", "log")},
      speed_{coefficients.number("sow.farrowing.inertia.labour_speed", "-")} {}

double Inertia::increment(double since_first_birth_min) const {
  return entry_ * (1 + since_first_birth_min / time_scale_min_);
}

bool Inertia::begins(InertiaState& state, double since_first_birth_min) const {
  if (state.left_min > 0) return false;
  state.accumulated += increment(since_first_birth_min);
  if (state.accumulated < state.threshold) return false;
  state.accumulated = 0;
  return true;
}

double Inertia::duration_min(double z) const { return std::exp(log_median_min_ + log_sd_ * z); }

double Inertia::elapsed_min(double labour_min, double inertia_left_min) const {
  const double labour_in_spell = speed_ * inertia_left_min;
  return labour_min <= labour_in_spell ? labour_min / speed_ : inertia_left_min + (labour_min - labour_in_spell);
}

double Inertia::labour_done_min(double clock_min, double inertia_left_min) const {
  return clock_min <= inertia_left_min ? speed_ * clock_min : clock_min - (1 - speed_) * inertia_left_min;
}

LabourEnd::LabourEnd(const Coefficients& coefficients)
    : longest_min_{60 * coefficients.number("sow.farrowing.longest_labour", "h")} {}

HelpRules::HelpRules(const Coefficients& coefficients)
    : success_{coefficients.number("sow.farrowing.help.success", "-")},
      delivered_after_min_{coefficients.number("sow.farrowing.help.delivered_after", "min")},
      revival_base_{coefficients.number("sow.farrowing.help.revival_base", "-")},
      revival_per_care_{coefficients.number("sow.farrowing.help.revival_per_care", "-")},
      reach_within_min_{coefficients.number("sow.farrowing.help.reach_within", "min")},
      care_intensity_{coefficients.number("sow.farrowing.help.care_intensity", "-")},
      alarm_duration_min_{coefficients.number("sow.farrowing.help.alarm_duration", "min")} {}

Stillbirth::Stillbirth(const Coefficients& coefficients) {
  const auto logit = coefficients.group("sow.stillbirth.logit");
  intercept_ = logit.number("intercept", "logit");
  rank_ = logit.number("birth_order", "logit");
  rank_cubed_ = logit.number("birth_order_cubed", "logit");
  per_hour_ = logit.number("cumulative_time", "logit/h");
  interval_per_min_ = logit.number("interval", "logit/min");
  interval_cap_min_ = logit.number("interval_cap", "min");
  per_piglet_ = logit.number("litter_size", "logit/piglet");
  bend_piglets_ = logit.number("litter_size_bend", "piglets");
  above_per_piglet_ = logit.number("litter_size_above", "logit/piglet");
  centre_piglets_ = logit.number("litter_size_centre", "piglets");
  litter_sd_ = logit.number("litter_sd", "logit");
  pre_labour_share_ = logit.number("pre_labour_share", "-");
  const auto add_ons = coefficients.group("sow.stillbirth.add_ons");
  parity_3_to_4_ = add_ons.number("parity_3_to_4", "logit");
  parity_5_up_ = add_ons.number("parity_5_and_later", "logit");
  parity_centre_ = add_ons.number("parity_centre", "logit");
  light_ = add_ons.number("low_birth_weight", "logit");
  light_below_kg_ = add_ons.number("low_birth_weight_below", "kg");
  weight_centre_ = add_ons.number("weight_centre", "logit");
  male_ = add_ons.number("male", "logit");
  female_ = add_ons.number("female", "logit");
  thin_old_ = add_ons.number("thin_old_sow", "logit");
  thin_below_mm_ = add_ons.number("thin_old_sow_backfat_below", "mm");
  hot_ = add_ons.number("hot", "logit");
  hot_above_deg_c_ = add_ons.number("hot_above", "degC");
  fibre_ = add_ons.number("fibre", "logit");
  stillborn_before_ = add_ons.number("previous_stillborn", "logit");
  short_gestation_ = add_ons.number("short_gestation", "logit");
  short_gestation_below_d_ = add_ons.number("short_gestation_below", "d");
  meal_ = three(add_ons.table("hours_since_meal", "logit"));
  std::tie(meal_from_h_, meal_until_h_) = range_of(add_ons.axis_labels("hours_since_meal").at(1));
  meal_centre_ = add_ons.number("hours_since_meal_centre", "logit");
  meal_weight_ = add_ons.number("hours_since_meal_weight", "-");
}

double Stillbirth::meal_term(double hours) const {
  const std::size_t place = hours < meal_from_h_ ? 0 : hours <= meal_until_h_ ? 1 : 2;
  return meal_weight_ * (meal_[place] + meal_centre_);
}

double Stillbirth::litter_logit(const StillbirthLitter& litter) const {
  const bool old = litter.parity >= 5;
  double sum = intercept_ + per_piglet_ * (litter.total_born - centre_piglets_) +
               above_per_piglet_ * above(litter.total_born, bend_piglets_) + litter.litter_effect +
               litter.intercept_shift + parity_centre_;
  if (litter.parity == 3 || litter.parity == 4) sum += parity_3_to_4_;
  if (old) sum += parity_5_up_;
  if (old && litter.backfat_mm < thin_below_mm_) sum += thin_old_;
  if (litter.room_deg_c > hot_above_deg_c_) sum += hot_;
  if (litter.gestation_d < short_gestation_below_d_) sum += short_gestation_;
  if (litter.fibre_added) sum += fibre_;
  if (litter.over_one_stillborn_before) sum += stillborn_before_;
  if (litter.hours_since_last_meal) sum += meal_term(*litter.hours_since_last_meal);
  return sum;
}

double Stillbirth::logit(double litter_logit, const StillbirthPiglet& piglet) const {
  const double r = piglet.relative_rank;
  return litter_logit + rank_ * r + rank_cubed_ * r * r * r +
         per_hour_ * piglet.since_first_birth_min / minutes_an_hour +
         interval_per_min_ * std::min(piglet.interval_min, interval_cap_min_) +
         (piglet.weight_kg < light_below_kg_ ? light_ : 0.0) + weight_centre_ +
         (piglet.sex == Sex::male ? male_ : female_);
}

double Stillbirth::probability(double litter_logit, const StillbirthPiglet& piglet) const {
  return probability_of(logit(litter_logit, piglet));
}

NewbornCare::NewbornCare(const Coefficients& coefficients)
    : full_log_hazard_{std::log(coefficients.number("litter.survival.modifiers.newborn_care_hazard_ratio", "-"))},
      reach_min_{coefficients.number("litter.survival.modifiers.newborn_care_reach", "min")} {}

double NewbornCare::log_hazard(double care_intensity, double delay_min) const {
  return care_intensity * full_log_hazard_ * std::max(0.0, 1 - delay_min / reach_min_);
}

Placenta::Placenta(const Coefficients& coefficients)
    : log_median_min_{std::log(coefficients.number("sow.placenta.expulsion_median", "min"))},
      log_sd_{coefficients.number("sow.placenta.expulsion_sd", "log")},
      retention_{coefficients.number("sow.placenta.retention_intercept", "logit")},
      retention_per_min_{coefficients.number("sow.placenta.retention_per_minute", "logit/min")},
      late_after_min_{coefficients.number("sow.placenta.late_after", "min")} {}

double Placenta::expelled_after_min(double z) const { return std::exp(log_median_min_ + log_sd_ * z); }

double Placenta::retention_probability(double farrowing_duration_min) const {
  return probability_of(retention_logit(farrowing_duration_min));
}

}  // namespace farrowtide
