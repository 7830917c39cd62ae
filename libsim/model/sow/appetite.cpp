#include "libsim/model/sow/appetite.hpp"

#include <algorithm>
#include <cmath>

namespace farrowtide {

AppetiteCurve::AppetiteCurve(const Coefficients& coefficients)
    : energy_at_zero_mcal_(coefficients.number("sow.appetite.curve.energy_at_zero", "kcal/d") / 1000),
      energy_asymptote_mcal_(coefficients.number("sow.appetite.curve.energy_asymptote", "kcal/d") / 1000),
      shape_(coefficients.number("sow.appetite.curve.shape", "-")),
      half_time_d_(coefficients, "sow.appetite.curve.half_time", "d"),
      late_fall_per_d_(coefficients.number("sow.appetite.curve.late_fall", "1/d")),
      late_from_d_(coefficients.number("sow.appetite.curve.late_from", "d")),
      reference_mcal_per_kg_(Diet::standard(coefficients).energy_mcal_per_kg),
      energy_compensation_(coefficients.number("sow.appetite.curve.energy_compensation", "-")),
      farrowing_day_multiplier_(coefficients.number("sow.pre_farrow.farrowing_day_appetite_multiplier", "-")) {}

double AppetiteCurve::mcal_per_day(int day, int parity) const {
  const double x = std::pow(day / half_time_d_[parity], shape_);
  return energy_at_zero_mcal_ + (energy_asymptote_mcal_ - energy_at_zero_mcal_) * x / (1 + x);
}

double AppetiteCurve::operator()(int lactation_day, int parity, const Diet& diet) const {
  const double late = std::exp(-late_fall_per_d_ * std::max(0.0, lactation_day - late_from_d_));
  const double compensated = std::pow(reference_mcal_per_kg_ / diet.energy_mcal_per_kg, energy_compensation_);
  const double intake_kg =
      late * mcal_per_day(std::max(1, lactation_day), parity) / reference_mcal_per_kg_ * compensated;
  return lactation_day < 1 ? farrowing_day_multiplier_ * intake_kg : intake_kg;
}

LitterSizeEffect::LitterSizeEffect(const Coefficients& coefficients)
    : intercept_(coefficients.number("sow.appetite.litter_size.intercept", "Mcal/d")),
      linear_(coefficients.number("sow.appetite.litter_size.linear", "Mcal/d/piglet")),
      quadratic_(coefficients.number("sow.appetite.litter_size.quadratic", "Mcal/d/piglet^2")),
      reference_(coefficients.number("sow.appetite.litter_size.reference", "Mcal/d")),
      cap_piglets_(coefficients.number("sow.appetite.litter_size.cap", "piglets")) {}

double LitterSizeEffect::mcal_per_day(double piglets) const {
  const double n = std::min(piglets, cap_piglets_);
  return intercept_ + linear_ * n + quadratic_ * n * n - reference_;
}

double LitterSizeEffect::operator()(double piglets, const Diet& diet) const {
  return mcal_per_day(piglets) / diet.energy_mcal_per_kg;
}

MilkFeedbackEffect::MilkFeedbackEffect(const Coefficients& coefficients)
    : slope_(coefficients.number("sow.appetite.milk_feedback.slope", "-")),
      milk_efficiency_(coefficients.number("sow.energy_balance.milk_efficiency", "-")) {}

double MilkFeedbackEffect::operator()(double own_potential_mcal, double parity_mean_potential_mcal,
                                      const Diet& diet) const {
  return slope_ * (own_potential_mcal - parity_mean_potential_mcal) / milk_efficiency_ / diet.energy_mcal_per_kg;
}

TemperatureEffect::TemperatureEffect(const Coefficients& coefficients)
    : knots_(coefficients, "sow.appetite.temperature.knots", "-"),
      reference_deg_c_(coefficients.number("sow.appetite.temperature.reference_temperature", "degC")),
      first_parity_shift_k_(coefficients.number("sow.appetite.temperature.first_parity_shift", "K")) {}

double TemperatureEffect::operator()(double effective_temperature_deg_c, int parity) const {
  const double shift_k = parity == 1 ? first_parity_shift_k_ : 0;
  return knots_(effective_temperature_deg_c - shift_k) / knots_(reference_deg_c_ - shift_k);
}

HeatCarryOver::HeatCarryOver(const Coefficients& coefficients)
    : memory_time_d_(coefficients.number("sow.appetite.heat_carry_over.memory_time", "d")),
      strength_(coefficients.number("sow.appetite.heat_carry_over.strength", "-")) {}

double HeatCarryOver::loss(double temperature_factor) { return 1 - std::min(1.0, temperature_factor); }

double HeatCarryOver::next_memory(double last_memory, double last_loss) const {
  return last_memory + (last_loss - last_memory) / memory_time_d_;
}

double HeatCarryOver::operator()(double memory, double temperature_factor) const {
  return 1 - strength_ * std::max(0.0, memory - loss(temperature_factor));
}

TirednessEffect::TirednessEffect(const Coefficients& coefficients)
    : from_h_(coefficients.number("sow.appetite.tiredness.from", "h")),
      slope_per_h_(coefficients.number("sow.appetite.tiredness.slope", "1/h")),
      most_(coefficients.number("sow.appetite.tiredness.most", "-")),
      gone_after_d_(coefficients.number("sow.appetite.tiredness.gone_after", "d")) {}

double TirednessEffect::operator()(int lactation_day, double labour_h) const {
  const double tired = std::min(most_, slope_per_h_ * std::max(0.0, labour_h - from_h_));
  return 1 - tired * std::max(0.0, 1 - lactation_day / gone_after_d_);
}

ConditionEffect::ConditionEffect(const Coefficients& coefficients)
    : first_parity_slope_(coefficients.number("sow.appetite.condition.slope_first_parity", "1/mm")),
      later_slope_(coefficients.number("sow.appetite.condition.slope_later_parities", "1/mm")),
      reference_mm_(coefficients.number("sow.appetite.condition.reference_backfat_p2", "mm")),
      least_(coefficients.number("sow.appetite.condition.least", "-")),
      most_(coefficients.number("sow.appetite.condition.most", "-")) {}

double ConditionEffect::operator()(double backfat_p2_mm, int parity) const {
  const double slope = parity == 1 ? first_parity_slope_ : later_slope_;
  return std::clamp(1 - slope * (backfat_p2_mm - reference_mm_), least_, most_);
}

PreFarrowFeedEffect::PreFarrowFeedEffect(const Coefficients& coefficients)
    : knots_(coefficients, "sow.appetite.late_gestation_feed.knots", "-"),
      harm_(coefficients),
      last_day_(coefficients.number("sow.appetite.late_gestation_feed.last_day", "d")),
      much_from_kg_(coefficients.number("sow.appetite.late_gestation_feed.much_from", "kg/d")),
      window_d_(static_cast<int>(coefficients.number("sow.pre_farrow.feed_window", "d"))) {}

double PreFarrowFeedEffect::operator()(int lactation_day, double pre_farrow_feed_kg_per_day,
                                       double backfat_p2_mm) const {
  if (lactation_day > last_day_) return 1;
  const double harm = pre_farrow_feed_kg_per_day > much_from_kg_ ? harm_(backfat_p2_mm) : 1;
  return 1 - (1 - knots_(pre_farrow_feed_kg_per_day)) * harm;
}

AppetiteVariation::AppetiteVariation(const Coefficients& coefficients)
    : start_(coefficients.number("sow.appetite.variation.growth_start", "-")),
      slope_(coefficients.number("sow.appetite.variation.growth_slope", "1/d")),
      autocorrelation_(coefficients.number("sow.appetite.variation.autocorrelation", "-")),
      unsteadiness_sd_(coefficients.number("sow.appetite.variation.unsteadiness_sd", "log")),
      day_sd_kg_(coefficients.number("sow.appetite.variation.day_sd", "kg/d")),
      first_parity_day_sd_kg_(coefficients.number("sow.appetite.variation.day_sd_first_parity", "kg/d")),
      scale_intake_kg_(coefficients.number("sow.appetite.variation.scale_intake", "kg/d")),
      sow_variance_(std::pow(coefficients.number("sow.sow_effects.appetite_sd", "log"), 2)) {}

double AppetiteVariation::next_noise(double last_noise, double z) const {
  return autocorrelation_ * last_noise + std::sqrt(1 - autocorrelation_ * autocorrelation_) * z;
}

double AppetiteVariation::growth(int lactation_day) const { return std::min(1.0, start_ + slope_ * lactation_day); }

double AppetiteVariation::sow_multiplier(int lactation_day, double sow_effect_log) const {
  const double g = growth(lactation_day);
  return std::exp(sow_effect_log * g - sow_variance_ / 2 * g * g);
}

double AppetiteVariation::unsteadiness(double y) const {
  return std::exp(unsteadiness_sd_ * y - unsteadiness_sd_ * unsteadiness_sd_);
}

double AppetiteVariation::noise_kg_per_day(double intake_kg_per_day, double noise, int parity,
                                           double unsteadiness) const {
  const double sd_kg = parity == 1 ? first_parity_day_sd_kg_ : day_sd_kg_;
  return unsteadiness * sd_kg * intake_kg_per_day / scale_intake_kg_ * noise;
}

double AppetiteVariation::operator()(double intake_kg_per_day, int lactation_day, int parity, double sow_effect_log,
                                     double noise, double unsteadiness) const {
  return std::max(0.0, intake_kg_per_day * sow_multiplier(lactation_day, sow_effect_log) +
                           noise_kg_per_day(intake_kg_per_day, noise, parity, unsteadiness));
}

PreFarrowAppetite::PreFarrowAppetite(const Coefficients& coefficients)
    : full_access_kg_(coefficients.number("sow.pre_farrow.appetite_full_access", "kg/d")),
      day_before_kg_(coefficients.number("sow.pre_farrow.appetite_day_before_farrowing", "kg/d")) {}

double PreFarrowAppetite::operator()(int lactation_day) const {
  return lactation_day < -1 ? full_access_kg_ : day_before_kg_;
}

Appetite::Appetite(const Coefficients& coefficients)
    : curve_(coefficients),
      parity_factor_(coefficients, "sow.appetite.curve.parity_factor", "-"),
      litter_size_(coefficients),
      milk_feedback_(coefficients),
      temperature_(coefficients),
      heat_carry_over_(coefficients),
      tiredness_(coefficients),
      condition_(coefficients),
      pre_farrow_feed_(coefficients),
      variation_(coefficients),
      wet_feed_multiplier_(coefficients.number("sow.appetite.wet_feed_multiplier", "-")),
      most_of_weight_(coefficients.number("sow.appetite.most_of_weight", "1/d")) {}

AppetiteParts Appetite::operator()(const AppetiteInputs& sow) const {
  AppetiteParts parts;
  // Intake for her parity, herd and litter at thermoneutrality.
  parts.curve_kg_per_day = curve_(sow.lactation_day, sow.parity, sow.diet);
  parts.parity_factor = parity_factor_[sow.parity];
  parts.herd_factor = sow.herd_factor;
  parts.litter_size_kg_per_day = litter_size_(sow.piglets, sow.diet);
  parts.milk_feedback_kg_per_day =
      milk_feedback_(sow.own_potential_milk_mcal, sow.parity_mean_potential_milk_mcal, sow.diet);
  const double in_comfort_kg = parts.parity_factor * parts.herd_factor * parts.curve_kg_per_day +
                               parts.litter_size_kg_per_day + parts.milk_feedback_kg_per_day;
  // Reductions by heat, labour, body condition and late-gestation feed. A very small day-0 appetite must not become
  // negative.
  parts.temperature_factor = temperature_(sow.effective_temperature_deg_c, sow.parity);
  parts.heat_carry_over_factor = heat_carry_over_(sow.heat_memory, parts.temperature_factor);
  parts.tiredness_factor = tiredness_(sow.lactation_day, sow.labour_h);
  parts.condition_factor = condition_(sow.backfat_p2_mm, sow.parity);
  parts.pre_farrow_feed_factor =
      pre_farrow_feed_(sow.lactation_day, sow.pre_farrow_feed_kg_per_day, sow.backfat_at_farrowing_mm);
  const double expected_kg = std::max(0.0, in_comfort_kg) * parts.temperature_factor * parts.heat_carry_over_factor *
                             parts.tiredness_factor * parts.condition_factor * parts.pre_farrow_feed_factor;
  // Variation between sows and between days.
  parts.sow_multiplier = variation_.sow_multiplier(sow.lactation_day, sow.sow_effect_log);
  parts.noise_kg_per_day = variation_.noise_kg_per_day(expected_kg, sow.noise, sow.parity, sow.unsteadiness);
  const double wanted_kg =
      variation_(expected_kg, sow.lactation_day, sow.parity, sow.sow_effect_log, sow.noise, sow.unsteadiness);
  // Feed form, health, water and handling.
  parts.wet_feed_multiplier = sow.form == FeedForm::dry ? 1 : wet_feed_multiplier_;
  parts.health_multiplier = sow.health_multiplier;
  parts.water_multiplier = sow.water_multiplier;
  parts.handling_multiplier = sow.handling_multiplier;
  parts.appetite_kg_per_day = std::min(wanted_kg * parts.wet_feed_multiplier * parts.health_multiplier *
                                           parts.water_multiplier * parts.handling_multiplier,
                                       most_kg(sow.body_weight_kg));
  return parts;
}

}  // namespace farrowtide
