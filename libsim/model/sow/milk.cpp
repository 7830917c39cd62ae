#include "libsim/model/sow/milk.hpp"

#include <algorithm>
#include <cmath>
#include <string>

#include "libsim/kernel/errors.hpp"

namespace farrowtide {
namespace {

// Weight of the latest day in exponential smoothing with this memory.
double newest_weight(double memory_d) { return 1 - std::exp(-1 / memory_d); }

// ln(1 + exp(x)): 0 far below 0, x far above.
double soft_above_zero(double x) { return std::max(0.0, x) + std::log1p(std::exp(-std::abs(x))); }

}  // namespace

LactationCurve::LactationCurve(const Coefficients& coefficients, int lactation_length_d)
    : level_(coefficients.number("sow.milk.curve.a", "-") -
             coefficients.number("sow.milk.curve.b", "1/d") * lactation_length_d),
      fall_per_d_(coefficients.number("sow.milk.curve.c", "1/d")),
      early_(coefficients.number("sow.milk.curve.d", "-")),
      early_rise_per_d_(coefficients.number("sow.milk.curve.e", "1/d")),
      handbook_mean_(0) {
  const int shortest_d = static_cast<int>(coefficients.number("sow.milk.curve.shortest_renormalised", "d"));
  const int longest_d = static_cast<int>(coefficients.number("sow.milk.curve.longest_renormalised", "d"));
  if (lactation_length_d < shortest_d || lactation_length_d > longest_d)
    throw UserError("lactation length " + std::to_string(lactation_length_d) + " d (the milk curve holds for " +
                    std::to_string(shortest_d) + " to " + std::to_string(longest_d) + " d)");
  for (int day = 1; day <= lactation_length_d; ++day) {
    handbook_by_day_.push_back(handbook(day));
    handbook_mean_ += handbook_by_day_.back() / lactation_length_d;
  }
}

double LactationCurve::handbook(int lactation_day) const {
  const int day = std::max(1, lactation_day);
  return level_ * std::exp(-fall_per_d_ * day) * std::exp(-std::exp(early_ - early_rise_per_d_ * day));
}

LactationCurves::LactationCurves(const Coefficients& coefficients) {
  for (int days = shortest_d; days <= longest_d; ++days) by_length_.emplace_back(coefficients, days);
}

const LactationCurve& LactationCurves::of_length(int days) const {
  return by_length_[static_cast<std::size_t>(std::clamp(days, shortest_d, longest_d) - shortest_d)];
}

MilkPotential::MilkPotential(const Coefficients& coefficients)
    : level_g_(coefficients.number("sow.milk.potential.level", "g/d")),
      slope_g_(coefficients.number("sow.milk.potential.litter_size_slope", "g/d/piglet")),
      centre_piglets_(coefficients.number("sow.milk.potential.litter_size_centre", "piglets")),
      parity_factor_(coefficients, "sow.milk.potential.parity_factor", "-"),
      energy_per_gain_kcal_(coefficients.number("sow.milk.potential.energy_per_litter_gain", "kcal/g")),
      energy_per_piglet_kcal_(coefficients.number("sow.milk.potential.energy_per_piglet", "kcal/d/piglet")),
      sow_variance_(std::pow(coefficients.number("sow.sow_effects.milk_sd", "log"), 2)) {}

double MilkPotential::gain_g_per_piglet(double piglets, int parity, double herd_factor, double sow_multiplier) const {
  const double gain_g = level_g_ - slope_g_ * (piglets - centre_piglets_);
  return std::max(0.0, gain_g) * parity_factor_[parity] * herd_factor * sow_multiplier;
}

double MilkPotential::mean_mcal_per_day(double gain_g_per_piglet, double piglets) const {
  const double kcal = energy_per_gain_kcal_ * gain_g_per_piglet * piglets - energy_per_piglet_kcal_ * piglets;
  return std::max(0.0, kcal) / 1000;
}

double MilkPotential::operator()(double piglets, int parity, double herd_factor, double sow_multiplier,
                                 double curve) const {
  return mean_mcal_per_day(gain_g_per_piglet(piglets, parity, herd_factor, sow_multiplier), piglets) * curve;
}

double MilkPotential::sow_multiplier(double sow_effect_log) const {
  return std::exp(sow_effect_log - sow_variance_ / 2);
}

FeedOnMilk::FeedOnMilk(const Coefficients& coefficients)
    : slope_(coefficients, "sow.milk.feed_response.slope", "kg^0.75 d/Mcal"),
      usual_per_metabolic_kg_(coefficients.number("sow.milk.feed_response.usual_demand", "Mcal/kg^0.75/d")),
      smoothing_(coefficients.number("sow.milk.feed_response.smoothing", "Mcal/kg^0.75/d")),
      exponent_(coefficients.number("sow.energy_balance.metabolic_exponent", "-")),
      weight_(newest_weight(coefficients.number("sow.milk.feed_response.memory", "d"))),
      milk_efficiency_(coefficients.number("sow.energy_balance.milk_efficiency", "-")),
      body_efficiency_(coefficients.number("sow.energy_balance.body_to_milk_efficiency", "-")) {}

double FeedOnMilk::demand_mcal(double maintenance_mcal, double potential_milk_mcal, double intake_mcal) const {
  const double short_mcal = maintenance_mcal + potential_milk_mcal / milk_efficiency_ - intake_mcal;
  return short_mcal * milk_efficiency_ / body_efficiency_;
}

double FeedOnMilk::smoothed_mcal(double last_smoothed_mcal, double demand_mcal) const {
  return last_smoothed_mcal + weight_ * (demand_mcal - last_smoothed_mcal);
}

double FeedOnMilk::usual_mcal(double body_weight_kg) const {
  return usual_per_metabolic_kg_ * std::pow(body_weight_kg, exponent_);
}

double FeedOnMilk::operator()(double smoothed_demand_mcal, double body_weight_kg, int parity) const {
  const double demand = smoothed_demand_mcal / std::pow(body_weight_kg, exponent_);
  return std::exp(-slope_[parity] * (drawn(demand) - drawn(usual_per_metabolic_kg_)));
}

double FeedOnMilk::drawn(double demand_per_metabolic_kg) const {
  return smoothing_ * soft_above_zero(demand_per_metabolic_kg / smoothing_);
}

HeatOnMilk::HeatOnMilk(const Coefficients& coefficients)
    : slope_per_k_(coefficients.number("sow.milk.heat.slope", "1/K")),
      above_deg_c_(coefficients.number("sow.milk.heat.above", "degC")),
      smoothing_k_(coefficients.number("sow.milk.heat.smoothing", "K")) {}

double HeatOnMilk::operator()(double milk_temperature_deg_c) const {
  const double warm_k = smoothing_k_ * soft_above_zero((milk_temperature_deg_c - above_deg_c_) / smoothing_k_);
  return std::exp(-slope_per_k_ * warm_k);
}

ProteinLimit::ProteinLimit(const Coefficients& coefficients)
    : above_(coefficients.number("sow.milk.protein_limit.above", "-")),
      step_(coefficients.number("sow.milk.protein_limit.step", "-")),
      fall_(coefficients.number("sow.milk.protein_limit.fall", "-")),
      least_(coefficients.number("sow.milk.protein_limit.least", "-")) {}

double ProteinLimit::operator()(double protein_loss_share) const {
  return std::max(least_, 1 - fall_ * std::max(0.0, protein_loss_share - above_) / step_);
}

LitterStart::LitterStart(const Coefficients& coefficients)
    : sd_log_(coefficients.number("sow.milk.litter_start.sd", "log")),
      bad_share_(coefficients.number("sow.milk.litter_start.bad_start_share", "-")),
      bad_milk_(coefficients.number("sow.milk.litter_start.bad_start_milk", "-")),
      until_d_(coefficients.number("sow.milk.litter_start.bad_start_until", "d")),
      back_by_d_(coefficients.number("sow.milk.litter_start.bad_start_back_by", "d")),
      starvation_ratio_(coefficients.number("sow.milk.litter_start.bad_start_starvation_ratio", "-")),
      starvation_until_d_(coefficients.number("sow.milk.litter_start.bad_start_starvation_until", "d")) {}

double LitterStart::fading(int lactation_day) const {
  return std::clamp((back_by_d_ - lactation_day) / (back_by_d_ - until_d_), 0.0, 1.0);
}

double LitterStart::operator()(int lactation_day, StartKind kind, double z) const {
  const double spread = std::exp(sd_log_ * z - sd_log_ * sd_log_ / 2);
  const double level = kind == StartKind::bad ? bad_milk_ * spread : spread;
  return 1 + fading(lactation_day) * (level - 1);
}

double LitterStart::starvation_hazard_ratio(int lactation_day, StartKind kind) const {
  const bool in_danger = kind == StartKind::bad && lactation_day >= 1 && lactation_day <= starvation_until_d_;
  return in_danger ? starvation_ratio_ : 1;
}

MilkYield::MilkYield(const Coefficients& coefficients)
    : heat_(coefficients),
      feed_(coefficients),
      protein_(coefficients),
      scours_share_(coefficients.number("sow.milk.suckling.scours_share", "-")) {}

MilkParts MilkYield::operator()(const MilkInputs& sow) const {
  MilkParts parts;
  parts.potential_mcal = sow.potential_mcal;
  parts.heat_factor = heat_(sow.milk_temperature_deg_c);
  parts.feed_factor = feed_(sow.smoothed_demand_mcal, sow.body_weight_kg, sow.parity);
  parts.protein_factor = protein_(sow.protein_loss_share);
  parts.lysine_multiplier = sow.lysine_multiplier;
  parts.health_multiplier = sow.health_multiplier;
  parts.litter_start_multiplier = sow.litter_start_multiplier;
  parts.milk_mcal = parts.potential_mcal * parts.heat_factor * parts.feed_factor * parts.protein_factor *
                    parts.lysine_multiplier * parts.health_multiplier * parts.litter_start_multiplier;
  return parts;
}

}  // namespace farrowtide
