#include "libsim/model/sow/energy_balance.hpp"

#include <algorithm>
#include <cmath>

namespace farrowtide {

Maintenance::Maintenance(const Coefficients& coefficients)
    : energy_per_metabolic_kg_(coefficients.number("sow.energy_balance.maintenance", "Mcal/kg^0.75/d")),
      exponent_(coefficients.number("sow.energy_balance.metabolic_exponent", "-")) {}

double Maintenance::operator()(double body_weight_kg) const {
  return energy_per_metabolic_kg_ * std::pow(body_weight_kg, exponent_);
}

ProteinShare::ProteinShare(const Coefficients& coefficients)
    : usual_odds_(0),
      parity_factor_(coefficients, "sow.energy_balance.protein_parity_factor", "-"),
      exponent_(coefficients.number("sow.energy_balance.protein_backfat_exponent", "-")),
      usual_backfat_mm_(coefficients.number("sow.energy_balance.usual_backfat", "mm")) {
  const double usual_share = coefficients.number("sow.energy_balance.protein_share_of_energy", "-");
  usual_odds_ = usual_share / (1 - usual_share);
}

double ProteinShare::operator()(const Reserves& reserves) const {
  double odds = usual_odds_ * parity_factor_[reserves.parity];
  if (std::isfinite(reserves.backfat_mm))
    odds *= std::pow(std::max(1.0, reserves.backfat_mm) / usual_backfat_mm_, -exponent_);
  return odds / (1 + odds);
}

EnergyBalance::EnergyBalance(const Coefficients& coefficients)
    : maintenance_(coefficients),
      protein_share_(coefficients),
      milk_efficiency_(coefficients.number("sow.energy_balance.milk_efficiency", "-")),
      body_efficiency_(coefficients.number("sow.energy_balance.body_to_milk_efficiency", "-")),
      gain_efficiency_(coefficients.number("sow.energy_balance.gain_efficiency", "-")),
      weight_per_protein_energy_(coefficients.number("sow.energy_balance.weight_per_protein_energy", "kg/Mcal")),
      weight_per_lipid_energy_(coefficients.number("sow.energy_balance.weight_per_lipid_energy", "kg/Mcal")),
      energy_per_kg_gained_(coefficients.number("sow.energy_balance.energy_per_kg_gained", "Mcal/kg")),
      protein_energy_(coefficients.number("sow.energy_balance.protein_energy", "Mcal/kg")),
      lipid_energy_(coefficients.number("sow.energy_balance.lipid_energy", "Mcal/kg")),
      lipid_per_body_kg_(coefficients.number("sow.body_composition.lipid_per_kg", "kg/kg") *
                         coefficients.number("sow.body_composition.empty_body_share", "-")),
      lipid_per_mm_(coefficients.number("sow.body_composition.lipid_per_mm", "kg/mm")),
      least_backfat_mm_(coefficients.number("sow.reserves.least_backfat", "mm")),
      share_for_milk_(coefficients.number("sow.reserves.share_for_milk", "1/d")) {}

EnergyDay EnergyBalance::operator()(double body_weight_kg, double eaten_kg, const Diet& diet, double milk_mcal,
                                    const Reserves& reserves) const {
  return day(eaten_kg * diet.energy_mcal_per_kg, maintenance_(body_weight_kg), 0, milk_mcal, reserves);
}

double EnergyBalance::backfat_per_lipid_mcal(double protein_share) const {
  const double kg_per_lipid_mcal =
      protein_share / (1 - protein_share) * weight_per_protein_energy_ + weight_per_lipid_energy_;
  return (1 / lipid_energy_ - lipid_per_body_kg_ * kg_per_lipid_mcal) / lipid_per_mm_;
}

double EnergyBalance::fat_mcal(double backfat_mm, double protein_share) const {
  return std::max(0.0, backfat_mm - least_backfat_mm_) / backfat_per_lipid_mcal(protein_share);
}

double EnergyBalance::most_milk_mcal(double body_weight_kg, double eaten_kg, const Diet& diet,
                                     const Reserves& reserves) const {
  const double protein_share = protein_share_(reserves);
  const double from_body_mcal = share_for_milk_ * fat_mcal(reserves.backfat_mm, protein_share) / (1 - protein_share) *
                                body_efficiency_ / milk_efficiency_;
  return milk_efficiency_ *
         std::max(0.0, eaten_kg * diet.energy_mcal_per_kg - maintenance_(body_weight_kg) + from_body_mcal);
}

EnergyDay EnergyBalance::day(double intake_mcal, double maintenance_mcal, double other_need_mcal, double milk_mcal,
                             const Reserves& reserves) const {
  EnergyDay day;
  day.intake_mcal = intake_mcal;
  day.maintenance_mcal = maintenance_mcal;
  day.other_need_mcal = other_need_mcal;
  day.milk_mcal = milk_mcal;
  day.milk_cost_mcal = milk_mcal / milk_efficiency_;
  day.balance_mcal = intake_mcal - maintenance_mcal - other_need_mcal - day.milk_cost_mcal;
  const bool loses = day.balance_mcal < 0;
  day.body_energy_mcal = day.balance_mcal * (loses ? milk_efficiency_ / body_efficiency_ : gain_efficiency_);
  const double protein_share = protein_share_(reserves);
  const double lipid_mcal =
      std::max((1 - protein_share) * day.body_energy_mcal, -fat_mcal(reserves.backfat_mm, protein_share));
  const double protein_mcal = day.body_energy_mcal - lipid_mcal;
  day.body_weight_change_kg = loses ? protein_mcal * weight_per_protein_energy_ + lipid_mcal * weight_per_lipid_energy_
                                    : day.body_energy_mcal / energy_per_kg_gained_;
  day.backfat_change_mm = backfat_per_lipid_mcal(protein_share) * lipid_mcal;
  day.protein_change_kg = protein_mcal / protein_energy_;
  day.lipid_change_kg = lipid_mcal / lipid_energy_;
  return day;
}

double EnergyBalance::body_cost_mcal(double lipid_change_kg, double protein_change_kg) const {
  const double energy_mcal = lipid_change_kg * lipid_energy_ + protein_change_kg * protein_energy_;
  return energy_mcal < 0 ? energy_mcal * body_efficiency_ / milk_efficiency_ : energy_mcal / gain_efficiency_;
}

PreFarrowBalance::PreFarrowBalance(const Coefficients& coefficients)
    : balance_(coefficients),
      multiple_(coefficients.number("sow.pre_farrow.energy_need_multiple_of_maintenance", "-")) {}

EnergyDay PreFarrowBalance::operator()(double body_weight_kg, double eaten_kg, const Diet& diet,
                                       const Reserves& reserves) const {
  const double maintenance_mcal = balance_.maintenance()(body_weight_kg);
  return balance_.day(eaten_kg * diet.energy_mcal_per_kg, maintenance_mcal, (multiple_ - 1) * maintenance_mcal, 0,
                      reserves);
}

LysineBalance::LysineBalance(const Coefficients& coefficients)
    : need_per_gain_(coefficients.number("sow.lysine.need_per_gain", "g/kg")),
      need_intercept_(coefficients.number("sow.lysine.need_intercept", "g/d")),
      digestible_(coefficients.number("sow.lysine.digestible_share", "-")),
      weight_(1 - std::exp(-1 / coefficients.number("sow.lysine.memory", "d"))),
      limit_(coefficients.number("sow.lysine.protein_loss_limit", "g/g")),
      curvature_(coefficients.number("sow.lysine.protein_loss_curvature", "1/g")),
      free_g_(coefficients.number("sow.lysine.free_shortfall", "g/d")),
      loss_factor_(coefficients, "sow.lysine.loss_factor", "-"),
      gain_response_kg_per_g_(coefficients.number("sow.lysine.gain_response", "kg/g")),
      gain_factor_(coefficients, "sow.lysine.gain_factor", "-"),
      protein_energy_(coefficients.number("sow.energy_balance.protein_energy", "Mcal/kg")),
      lipid_energy_(coefficients.number("sow.energy_balance.lipid_energy", "Mcal/kg")),
      tissue_per_protein_(coefficients.number("sow.energy_balance.tissue_per_protein", "kg/kg")),
      tissue_per_lipid_(coefficients.number("sow.energy_balance.tissue_per_lipid", "kg/kg")) {}

double LysineBalance::shortfall_g(double litter_gain_kg, double lysine_eaten_g) const {
  return digestible_ * (need_per_gain_ * litter_gain_kg + need_intercept_ - lysine_eaten_g);
}

double LysineBalance::smoothed_g(double last_smoothed_g, double shortfall_g) const {
  return last_smoothed_g + weight_ * (shortfall_g - last_smoothed_g);
}

double LysineBalance::protein_loss_g(double smoothed_shortfall_g, int parity) const {
  const double beyond_g = std::max(0.0, smoothed_shortfall_g - free_g_);
  const double loss_g = std::max(0.0, std::min(limit_ * smoothed_shortfall_g, curvature_ * beyond_g * beyond_g));
  return loss_g * loss_factor_[parity];
}

double LysineBalance::milk_multiplier(double smoothed_shortfall_g, double usual_gain_kg, int parity) const {
  if (usual_gain_kg <= 0) return 1;
  // The smoothed deficit is that of the gain she has; the response is to that of the gain she would have.
  const double response = gain_response_kg_per_g_ * gain_factor_[parity];
  const double lacking_kg =
      response / (1 - response * need_per_gain_) * std::max(0.0, smoothed_shortfall_g) / digestible_;
  return std::exp(-lacking_kg / usual_gain_kg);
}

double LysineBalance::weight_change_kg(double protein_loss_g) const {
  const double protein_kg = protein_loss_g / 1000;
  const double lipid_kg = protein_kg * protein_energy_ / lipid_energy_;
  return tissue_per_lipid_ * lipid_kg - tissue_per_protein_ * protein_kg;
}

LysineDay LysineBalance::operator()(double last_smoothed_g, double litter_gain_kg, double lysine_eaten_g,
                                    int parity) const {
  LysineDay day;
  day.shortfall_g = shortfall_g(litter_gain_kg, lysine_eaten_g);
  day.smoothed_shortfall_g = smoothed_g(last_smoothed_g, day.shortfall_g);
  const double loss_g = protein_loss_g(day.smoothed_shortfall_g, parity);
  day.protein_loss_kg = loss_g / 1000;
  day.lipid_spared_kg = day.protein_loss_kg * protein_energy_ / lipid_energy_;
  day.body_weight_change_kg = weight_change_kg(loss_g);
  return day;
}

WeighedSow::WeighedSow(const Coefficients& coefficients)
    : gut_fill_per_feed_d_(coefficients.number("sow.energy_balance.gut_fill_per_feed", "kg/kg/d")) {}

EarlyLoss::EarlyLoss(const Coefficients& coefficients)
    : total_kg_(coefficients.number("sow.energy_balance.early_loss", "kg")),
      until_d_(coefficients.number("sow.energy_balance.early_loss_until", "d")),
      decay_d_(coefficients.number("sow.energy_balance.early_loss_decay", "d")),
      scale_(0) {
  for (int day = 1; day <= until_d_; ++day) scale_ += std::exp(-day / decay_d_);
}

double EarlyLoss::operator()(int lactation_day) const {
  if (lactation_day < 1 || lactation_day > until_d_) return 0;
  return total_kg_ * std::exp(-lactation_day / decay_d_) / scale_;
}

LactationMeanBalance::LactationMeanBalance(const Coefficients& coefficients)
    : maintenance_(coefficients),
      waste_share_(coefficients.number("sow.meals.waste_share", "-")),
      energy_per_gain_kcal_(coefficients.number("sow.milk.potential.energy_per_litter_gain", "kcal/g")),
      energy_per_piglet_kcal_(coefficients.number("sow.milk.potential.energy_per_piglet", "kcal/d/piglet")),
      milk_efficiency_(coefficients.number("sow.energy_balance.milk_efficiency", "-")),
      body_efficiency_(coefficients.number("sow.energy_balance.body_to_milk_efficiency", "-")),
      gain_efficiency_(coefficients.number("sow.energy_balance.gain_efficiency", "-")),
      energy_per_kg_lost_(coefficients.number("sow.energy_balance.energy_per_kg_lost", "Mcal/kg")),
      energy_per_kg_gained_(coefficients.number("sow.energy_balance.energy_per_kg_gained", "Mcal/kg")) {}

double LactationMeanBalance::operator()(double body_weight_kg, double piglets, double gain_g_per_piglet,
                                        double feed_with_waste_kg_per_day, const Diet& diet,
                                        int lactation_length_d) const {
  const double intake_mcal = (1 - waste_share_) * feed_with_waste_kg_per_day * diet.energy_mcal_per_kg;
  const double milk_mcal = (energy_per_gain_kcal_ * gain_g_per_piglet - energy_per_piglet_kcal_) * piglets / 1000;
  const double balance_mcal = intake_mcal - maintenance_(body_weight_kg) - milk_mcal / milk_efficiency_;
  const double change_kg_per_day = balance_mcal < 0
                                       ? balance_mcal * milk_efficiency_ / body_efficiency_ / energy_per_kg_lost_
                                       : balance_mcal * gain_efficiency_ / energy_per_kg_gained_;
  return change_kg_per_day * lactation_length_d;
}

BodyComposition::BodyComposition(const Coefficients& coefficients)
    : empty_body_share_(coefficients.number("sow.body_composition.empty_body_share", "-")),
      lipid_intercept_(coefficients.number("sow.body_composition.lipid_intercept", "kg")),
      lipid_per_kg_(coefficients.number("sow.body_composition.lipid_per_kg", "kg/kg")),
      lipid_per_mm_(coefficients.number("sow.body_composition.lipid_per_mm", "kg/mm")),
      protein_intercept_(coefficients.number("sow.body_composition.protein_intercept", "kg")),
      protein_per_kg_(coefficients.number("sow.body_composition.protein_per_kg", "kg/kg")),
      protein_per_mm_(coefficients.number("sow.body_composition.protein_per_mm", "kg/mm")) {}

double BodyComposition::lipid_kg(double body_weight_kg, double backfat_p2_mm) const {
  return lipid_intercept_ + lipid_per_kg_ * empty_body_share_ * body_weight_kg + lipid_per_mm_ * backfat_p2_mm;
}

double BodyComposition::protein_kg(double body_weight_kg, double backfat_p2_mm) const {
  return protein_intercept_ + protein_per_kg_ * empty_body_share_ * body_weight_kg + protein_per_mm_ * backfat_p2_mm;
}

}  // namespace farrowtide
