#pragma once

#include "libsim/model/sow/diet.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Maintenance energy [Mcal ME/d] of a body weight [kg] (NRC 2012; 130-320 kg).
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

/// Energy balance of a sow-day (NRC 2012 efficiencies; tissue factors Zhang et al. 2020).
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

/// Body protein lost when lysine eaten does not cover the litter's gain (Pettigrew 1993; fitted to Clowes et al. 2003).
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

/// Weight lost with water and uterus in the first days after farrowing [kg on this day]; the total is 0 unless set.
class EarlyLoss {
 public:
  explicit EarlyLoss(const Coefficients& coefficients);
  double operator()(int lactation_day) const;

 private:
  double total_kg_, until_d_, decay_d_, scale_;
};

/// Body weight change [kg] over a lactation from its means: the handbook's own arithmetic, for tests and quick
/// estimates.
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

/// Lipid and protein [kg] in a sow's body (Dourmad et al. 1997; 140-300 kg, 8-28 mm).
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
