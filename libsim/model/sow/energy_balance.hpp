#pragma once

#include <limits>

#include "libsim/model/curves/parity_table.hpp"
#include "libsim/model/sow/diet.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Maintenance energy requirement from body weight.
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

/// Energy budget of a sow-day, with separate terms so that the balance can be checked:
/// intake = maintenance + other need + milk cost + body cost.
struct EnergyDay {
  double intake_mcal = 0;  ///< feed eaten
  double maintenance_mcal = 0;
  double other_need_mcal = 0;   ///< before farrowing: conceptus, udder, nest-building
  double milk_mcal = 0;         ///< energy in milk
  double milk_cost_mcal = 0;    ///< feed energy used for milk
  double balance_mcal = 0;      ///< intake less maintenance, other need and milk cost
  double body_energy_mcal = 0;  ///< retained in the body; negative when mobilised
  double body_weight_change_kg = 0;
  double backfat_change_mm = 0;
  double protein_change_kg = 0;
  double lipid_change_kg = 0;
};

/// What a sow can draw on. Without backfat, fat has no end and its share is that at the usual backfat.
struct Reserves {
  double backfat_mm = std::numeric_limits<double>::infinity();  ///< P2
  int parity = 3;
};

/// Share of protein in the body energy that a sow mobilises or retains. Fat sows use more fat, first parities more
/// protein.
/// Equation:
///   odds [-] = protein_share_of_energy / (1 - protein_share_of_energy) * protein_parity_factor[parity]
///     * (P2 / usual_backfat)^(-protein_backfat_exponent)
///   share [-] = odds / (1 + odds)
/// Where: P2 [mm] backfat; parity [-] of the sow
/// Valid: P2 of 5-28 mm
/// Source: usual share NRC 2012; backfat derived from an analysis of ten Danish feeding trials (3,919 sows, SEGES
///   2021); parity derived from Clowes et al. 2003 and Ye et al. (85 sows)
class ProteinShare {
 public:
  explicit ProteinShare(const Coefficients& coefficients);
  double operator()(const Reserves& reserves) const;

 private:
  double usual_odds_;
  ParityTable parity_factor_;
  double exponent_, usual_backfat_mm_;
};

/// Energy balance of a sow-day. Backfat follows from lipid and weight, down to its least: what fat can no longer give
/// comes from protein.
/// Equation:
///   balance [Mcal] = eaten * E_diet - Maintenance - other - milk / milk_efficiency
///   dE [Mcal] = balance * milk_efficiency / body_to_milk_efficiency if balance < 0, else balance * gain_efficiency
///   per_lipid_energy [kg/Mcal] = ProteinShare / (1 - ProteinShare) * weight_per_protein_energy
///     + weight_per_lipid_energy
///   per_lipid [mm/Mcal] = (1 / lipid_energy - lipid_per_kg * empty_body_share * per_lipid_energy) / lipid_per_mm
///   fat [Mcal] = max(0, P2 - least_backfat) / per_lipid
///   dE_lipid [Mcal] = max((1 - ProteinShare) * dE, -fat)
///   dE_protein [Mcal] = dE - dE_lipid
///   dBW [kg] = dE_protein * weight_per_protein_energy + dE_lipid * weight_per_lipid_energy if balance < 0,
///     else dE / energy_per_kg_gained
///   dP2 [mm] = per_lipid * dE_lipid
///   protein [kg] = dE_protein / protein_energy
///   lipid [kg] = dE_lipid / lipid_energy
///   most_milk [Mcal] = milk_efficiency * max(0, eaten * E_diet - Maintenance
///     + share_for_milk * fat / (1 - ProteinShare) * body_to_milk_efficiency / milk_efficiency)
/// Where: eaten [kg] feed eaten that day; E_diet [Mcal/kg] metabolisable energy of the diet; milk [Mcal] energy in the
///   day's milk, at most most_milk; other [Mcal] requirement before farrowing, else 0; P2 [mm] backfat; fat [Mcal]
///   energy of the fat above the least; per_lipid follows from the lipid of BodyComposition
/// Valid: 130-320 kg
/// Source: efficiencies NRC 2012; tissue Zhang et al. 2020; backfat Dourmad et al. 1997; least backfat and its share
///   for milk assumed
class EnergyBalance {
 public:
  explicit EnergyBalance(const Coefficients& coefficients);
  /// From body weight [kg], feed eaten [kg] and milk energy [Mcal] of the day, and her reserves.
  EnergyDay operator()(double body_weight_kg, double eaten_kg, const Diet& diet, double milk_mcal,
                       const Reserves& reserves = {}) const;
  /// The day's balance for given requirements [Mcal]; a surplus is retained in the body, a deficit mobilised from it.
  EnergyDay day(double intake_mcal, double maintenance_mcal, double other_need_mcal, double milk_mcal,
                const Reserves& reserves = {}) const;
  /// Most energy in milk [Mcal] that feed and the fat above the least pay for in a day.
  double most_milk_mcal(double body_weight_kg, double eaten_kg, const Diet& diet, const Reserves& reserves) const;
  /// Feed energy [Mcal] equivalent to the body change (negative: mobilised), from lipid and protein alone.
  double body_cost_mcal(double lipid_change_kg, double protein_change_kg) const;
  const Maintenance& maintenance() const { return maintenance_; }

 private:
  Maintenance maintenance_;
  ProteinShare protein_share_;
  double backfat_per_lipid_mcal(double protein_share) const;
  double fat_mcal(double backfat_mm, double protein_share) const;  // above the least
  double milk_efficiency_, body_efficiency_, gain_efficiency_;
  double weight_per_protein_energy_, weight_per_lipid_energy_, energy_per_kg_gained_;
  double protein_energy_, lipid_energy_;
  double lipid_per_body_kg_, lipid_per_mm_, least_backfat_mm_, share_for_milk_;
};

/// Energy balance before farrowing, where the requirement is a multiple of maintenance.
/// Equation:
///   other [Mcal] = (energy_need_multiple_of_maintenance - 1) * Maintenance
///   day [Mcal] = EnergyBalance 'with this requirement and no milk'
/// Where: Maintenance and EnergyBalance as above
/// Valid: from loading to farrowing
/// Source: assumption
class PreFarrowBalance {
 public:
  explicit PreFarrowBalance(const Coefficients& coefficients);
  EnergyDay operator()(double body_weight_kg, double eaten_kg, const Diet& diet, const Reserves& reserves) const;

 private:
  EnergyBalance balance_;
  double multiple_;
};

/// Effects of a lysine deficit on one day.
struct LysineDay {
  double shortfall_g = 0;           ///< deficit of digestible lysine on this day; negative is a surplus
  double smoothed_shortfall_g = 0;  ///< carried over to the next day
  double protein_loss_kg = 0;       ///< in addition to the energy balance
  double lipid_spared_kg = 0;       ///< lipid spared by the energy of that protein
  double body_weight_change_kg = 0;
};

/// Body protein loss when lysine intake does not meet the requirement for litter gain, and the gain that litters of
/// such sows lack. First parities pay with body protein, later ones more with milk. Backfat is left as it is.
/// Equation:
///   shortfall [g/d] = digestible_share * (need_per_gain * LG + need_intercept - lysine)
///   smoothed [g/d] = smoothed_before + (1 - exp(-1 / memory)) * (shortfall - smoothed_before)
///   beyond [g/d] = max(0, smoothed - free_shortfall)
///   loss [g/d] = max(0, min(protein_loss_limit * smoothed, protein_loss_curvature * beyond^2)) * loss_factor[parity]
///   spared [g/d] = loss * protein_energy / lipid_energy
///   dBW [kg] = (tissue_per_lipid * spared - tissue_per_protein * loss) / 1000
///   response [kg/g] = gain_response * gain_factor[parity]
///   f [-] = exp(-response / (1 - response * need_per_gain) * max(0, smoothed) / digestible_share / usual)
/// Where: LG [kg/d] litter gain; lysine [g/d] total lysine intake; smoothed_before [g/d] value of the previous day;
///   spared is lipid; f multiplies milk; usual [kg/d] litter gain at full milk, of whose shortfall the response is;
///   parity [-] of the sow
/// Valid: litter gains of 1.5-3.3 kg/d
/// Source: requirement Pettigrew 1993, from memory; loss of first parities fitted to Clowes et al. 2003, of later ones
///   to Greiner et al. 2010; gain Greiner et al. 2010; tissue Zhang et al. 2020
class LysineBalance {
 public:
  explicit LysineBalance(const Coefficients& coefficients);
  /// Digestible lysine deficit [g/d] for a litter gain [kg/d] and total lysine intake [g/d].
  double shortfall_g(double litter_gain_kg, double lysine_eaten_g) const;
  double smoothed_g(double last_smoothed_g, double shortfall_g) const;
  /// Additional body protein loss [g/d].
  double protein_loss_g(double smoothed_shortfall_g, int parity) const;
  /// Milk multiplier, 0-1, for the deficit and the litter gain [kg/d] at full milk.
  double milk_multiplier(double smoothed_shortfall_g, double usual_gain_kg, int parity) const;
  /// Body weight change [kg] from that loss, net of the lipid spared.
  double weight_change_kg(double protein_loss_g) const;
  LysineDay operator()(double last_smoothed_g, double litter_gain_kg, double lysine_eaten_g, int parity) const;

 private:
  double need_per_gain_, need_intercept_, digestible_, weight_;
  double limit_, curvature_, free_g_;
  ParityTable loss_factor_;
  double gain_response_kg_per_g_;
  ParityTable gain_factor_;
  double protein_energy_, lipid_energy_, tissue_per_protein_, tissue_per_lipid_;
};

/// What a scale shows: the weight without feed of late gestation in the gut, and more of it the more she eats.
/// Equation:
///   weighed [kg] = BW + gut_fill_per_feed * (eaten - late)
/// Where: BW [kg] body weight; eaten [kg/d] feed of the day; late [kg/d] feed of late gestation, at the first weighing
/// Valid: 0-10 kg of feed
/// Source: assumption
class WeighedSow {
 public:
  explicit WeighedSow(const Coefficients& coefficients);
  double operator()(double body_weight_kg, double eaten_kg, double late_gestation_feed_kg) const {
    return body_weight_kg + gut_fill_per_feed_d_ * (eaten_kg - late_gestation_feed_kg);
  }

 private:
  double gut_fill_per_feed_d_;
};

/// Weight loss from body water and uterine involution in the first days after farrowing; the total is 0 by default.
/// Equation:
///   loss [kg] = early_loss * exp(-d / early_loss_decay) / sum(exp(-i / early_loss_decay), i = 1 to early_loss_until)
///     if 1 <= d <= early_loss_until, else 0
/// Where: d [d] day of lactation; i [d] day
/// Valid: total losses of 0-4 kg; trials disagree
/// Source: assumption
class EarlyLoss {
 public:
  explicit EarlyLoss(const Coefficients& coefficients);
  double operator()(int lactation_day) const;

 private:
  double total_kg_, until_d_, decay_d_, scale_;
};

/// Body weight change over a lactation from lactation means, as in the handbook; for tests and quick estimates.
/// Equation:
///   milk [Mcal/d] = (energy_per_litter_gain * gain - energy_per_piglet) * N / 1000
///   balance [Mcal/d] = (1 - waste_share) * feed * E_diet - Maintenance - milk / milk_efficiency
///   change [kg] = L * balance * milk_efficiency / body_to_milk_efficiency / energy_per_kg_lost if balance < 0,
///     else L * balance * gain_efficiency / energy_per_kg_gained
/// Where: gain [g/d] of each piglet; N [piglets] suckling; feed [kg/d] including waste; E_diet [Mcal/kg] metabolisable
///   energy of the diet; L [d] lactation length
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

/// Lipid and protein content of a sow's body.
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
