#pragma once

#include "libsim/model/sow/diet.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Maintenance energy of a body weight.
/// Equation:
///   MEm [Mcal/d] = maintenance * BW^metabolic_exponent
/// Where: BW [kg] body weight
/// Valid: 130-320 kg
/// Source: NRC 2012, Nutrient Requirements of Swine
class Maintenance {
 public:
  explicit Maintenance(const Coefficients& coefficients);
  double operator()(double body_weight_kg) const;

 private:
  double energy_per_metabolic_kg_, exponent_;
};

/// A sow-day's energy, each term on its own, so that a ledger can check
/// intake = maintenance + other need + milk cost + body cost.
struct EnergyDay {
  double intake_mcal = 0;  ///< eaten feed
  double maintenance_mcal = 0;
  double other_need_mcal = 0;   ///< before farrowing: conceptus, udder, nest building
  double milk_mcal = 0;         ///< in the milk
  double milk_cost_mcal = 0;    ///< feed energy that milk took
  double balance_mcal = 0;      ///< intake less maintenance, other need and milk cost
  double body_energy_mcal = 0;  ///< into the body; negative when it is drawn
  double body_weight_change_kg = 0;
  double backfat_change_mm = 0;
  double protein_change_kg = 0;
  double lipid_change_kg = 0;
};

/// Energy balance of a sow-day.
/// Equation:
///   balance [Mcal] = eaten * E_diet - Maintenance - other - milk / milk_efficiency
///   dE [Mcal] = balance * milk_efficiency / body_to_milk_efficiency if balance < 0, else balance * gain_efficiency
///   per_energy [kg/Mcal] = protein_share_of_energy * weight_per_protein_energy
///     + (1 - protein_share_of_energy) * weight_per_lipid_energy
///   dBW [kg] = dE * per_energy if balance < 0, else dE / energy_per_kg_gained
///   dP2 [mm] = backfat_per_kg * dBW
///   protein [kg] = protein_share_of_energy * dE / protein_energy
///   lipid [kg] = (1 - protein_share_of_energy) * dE / lipid_energy
/// Where: eaten [kg] feed of the day; E_diet [Mcal/kg] metabolisable energy of the diet; milk [Mcal] in the day's milk;
///   other [Mcal] need before farrowing, else 0
/// Valid: 130-320 kg
/// Source: efficiencies NRC 2012; tissue Zhang et al. 2020; backfat derived from Dourmad et al. 1997
class EnergyBalance {
 public:
  explicit EnergyBalance(const Coefficients& coefficients);
  /// From body weight [kg], feed eaten [kg] and milk energy [Mcal] of the day.
  EnergyDay operator()(double body_weight_kg, double eaten_kg, const Diet& diet, double milk_mcal) const;
  /// The day for any needs [Mcal]; what is left over goes to the body, what is short comes from it.
  EnergyDay day(double intake_mcal, double maintenance_mcal, double other_need_mcal, double milk_mcal) const;
  /// Feed energy [Mcal] that the body's change took (negative: gave), computed from lipid and protein alone.
  double body_cost_mcal(double lipid_change_kg, double protein_change_kg) const;
  const Maintenance& maintenance() const { return maintenance_; }

 private:
  Maintenance maintenance_;
  double milk_efficiency_, body_efficiency_, gain_efficiency_, protein_share_;
  double weight_per_energy_lost_, energy_per_kg_gained_, backfat_per_kg_;
  double protein_energy_, lipid_energy_;
};

/// The same balance before farrowing, where the need is a multiple of maintenance.
/// Equation:
///   other [Mcal] = (energy_need_multiple_of_maintenance - 1) * Maintenance
///   day [Mcal] = EnergyBalance 'with this need and no milk'
/// Where: Maintenance and EnergyBalance as above
/// Valid: loading to farrowing
/// Source: assumption
class PreFarrowBalance {
 public:
  explicit PreFarrowBalance(const Coefficients& coefficients);
  EnergyDay operator()(double body_weight_kg, double eaten_kg, const Diet& diet) const;

 private:
  EnergyBalance balance_;
  double multiple_;
};

/// What a shortage of lysine does on one day.
struct LysineDay {
  double shortfall_g = 0;           ///< of this day, digestible; negative is a surplus
  double smoothed_shortfall_g = 0;  ///< state for the next day
  double protein_loss_kg = 0;       ///< beyond the energy balance
  double lipid_spared_kg = 0;       ///< the energy of that protein stays as lipid
  double body_weight_change_kg = 0;
};

/// Body protein lost when lysine eaten does not cover the litter's gain.
/// Equation:
///   shortfall [g/d] = digestible_share * (need_per_gain * LG + need_intercept - lysine)
///   smoothed [g/d] = smoothed_before + (1 - exp(-1 / memory)) * (shortfall - smoothed_before)
///   beyond [g/d] = max(0, smoothed - free_shortfall)
///   loss [g/d] = max(0, min(protein_loss_limit * smoothed, protein_loss_curvature * beyond^2))
///   spared [g/d] = loss * protein_energy / lipid_energy
///   dBW [kg] = (tissue_per_lipid * spared - tissue_per_protein * loss) / 1000
/// Where: LG [kg/d] litter gain; lysine [g/d] total lysine eaten; smoothed_before [g/d] yesterday's; spared is lipid
/// Valid: litter gains of 1.5-3.3 kg/d
/// Source: need Pettigrew 1993, from memory; loss fitted to Clowes et al. 2003; tissue Zhang et al. 2020
class LysineBalance {
 public:
  explicit LysineBalance(const Coefficients& coefficients);
  /// Digestible shortfall [g/d] of a litter gain [kg/d] and total lysine eaten [g/d].
  double shortfall_g(double litter_gain_kg, double lysine_eaten_g) const;
  double smoothed_g(double last_smoothed_g, double shortfall_g) const;
  /// Extra body protein lost [g/d].
  double protein_loss_g(double smoothed_shortfall_g) const;
  /// Change of body weight [kg] with that loss, less the lipid it spares.
  double weight_change_kg(double protein_loss_g) const;
  LysineDay operator()(double last_smoothed_g, double litter_gain_kg, double lysine_eaten_g) const;

 private:
  double need_per_gain_, need_intercept_, digestible_, weight_;
  double limit_, curvature_, free_g_;
  double protein_energy_, lipid_energy_, tissue_per_protein_, tissue_per_lipid_;
};

/// Weight lost with water and uterus in the first days after farrowing; the total is 0 unless set.
/// Equation:
///   loss [kg] = early_loss * exp(-d / early_loss_decay) / sum(exp(-i / early_loss_decay), i = 1 to early_loss_until)
///     if 1 <= d <= early_loss_until, else 0
/// Where: d [d] day of lactation; i [d] day
/// Valid: totals of 0-4 kg; trials disagree
/// Source: assumption
class EarlyLoss {
 public:
  explicit EarlyLoss(const Coefficients& coefficients);
  double operator()(int lactation_day) const;

 private:
  double total_kg_, until_d_, decay_d_, scale_;
};

/// Body weight change over a lactation from its means: the handbook's own arithmetic, for tests and quick estimates.
/// Equation:
///   milk [Mcal/d] = (energy_per_litter_gain * gain - energy_per_piglet) * N / 1000
///   balance [Mcal/d] = (1 - waste_share) * feed * E_diet - Maintenance - milk / milk_efficiency
///   change [kg] = L * balance * milk_efficiency / body_to_milk_efficiency / energy_per_kg_lost if balance < 0,
///     else L * balance * gain_efficiency / energy_per_kg_gained
/// Where: gain [g/d] of each piglet; N [piglets]; feed [kg/d] with waste; E_diet [Mcal/kg] metabolisable energy of the
///   diet; L [d] length of the lactation
/// Valid: means of whole lactations
/// Source: NRC 2012, Nutrient Requirements of Swine
class LactationMeanBalance {
 public:
  explicit LactationMeanBalance(const Coefficients& coefficients);
  double operator()(double body_weight_kg, double piglets, double gain_g_per_piglet, double feed_with_waste_kg_per_day,
                    const Diet& diet, int lactation_length_d) const;

 private:
  Maintenance maintenance_;
  double waste_share_, energy_per_gain_kcal_, energy_per_piglet_kcal_;
  double milk_efficiency_, body_efficiency_, gain_efficiency_, energy_per_kg_lost_, energy_per_kg_gained_;
};

/// Lipid and protein in a sow's body.
/// Equation:
///   lipid [kg] = lipid_intercept + lipid_per_kg * empty_body_share * BW + lipid_per_mm * P2
///   protein [kg] = protein_intercept + protein_per_kg * empty_body_share * BW + protein_per_mm * P2
/// Where: BW [kg] body weight; P2 [mm] backfat
/// Valid: 140-300 kg, P2 of 8-28 mm
/// Source: Dourmad et al. 1997, from memory
class BodyComposition {
 public:
  explicit BodyComposition(const Coefficients& coefficients);
  double lipid_kg(double body_weight_kg, double backfat_p2_mm) const;
  double protein_kg(double body_weight_kg, double backfat_p2_mm) const;

 private:
  double empty_body_share_;
  double lipid_intercept_, lipid_per_kg_, lipid_per_mm_;
  double protein_intercept_, protein_per_kg_, protein_per_mm_;
};

}  // namespace farrowtide
