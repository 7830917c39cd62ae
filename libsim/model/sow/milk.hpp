#pragma once

#include "libsim/model/sow/parity_table.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Milk of a day against the lactation's mean (NRC 2012, from memory), with mean 1 over days 1 to L (L 17-35 d).
class LactationCurve {
 public:
  LactationCurve(const Coefficients& coefficients, int lactation_length_d);
  /// Day 0 and before read as day 1; days beyond L follow the same curve.
  double operator()(int lactation_day) const { return handbook(lactation_day) / handbook_mean_; }
  /// The published form before it is scaled to mean 1.
  double handbook(int lactation_day) const;

 private:
  double level_, fall_per_d_, early_, early_rise_per_d_, handbook_mean_;
};

/// Milk energy a litter would draw from an unstressed, fully fed sow (level fitted; Auldist et al. 1998, Noblet &
/// Etienne 1989).
class MilkPotential {
 public:
  explicit MilkPotential(const Coefficients& coefficients);
  /// Daily gain each piglet could make on her [g/d]. The sow's log effect is mean-correct: a spread moves no mean.
  double gain_g_per_piglet(double piglets, int parity, double herd_factor = 1, double sow_multiplier = 1) const;
  /// Mean milk energy over the lactation [Mcal/d] at that gain.
  double mean_mcal_per_day(double gain_g_per_piglet, double piglets) const;
  /// Milk energy of a day [Mcal/d] under a lactation curve value.
  double operator()(double piglets, int parity, double herd_factor, double sow_multiplier, double curve) const;
  /// Mean-correct multiplier of a sow's log effect.
  double sow_multiplier(double sow_effect_log) const;

 private:
  double level_g_, slope_g_, centre_piglets_;
  ParityTable parity_factor_;
  double energy_per_gain_kcal_, energy_per_piglet_kcal_, sow_variance_;
};

/// Milk lost when feed and reserves together cannot pay for it; judged on milk before heat takes its part.
class ReserveLimit {
 public:
  explicit ReserveLimit(const Coefficients& coefficients);
  /// Body energy [Mcal/d] the day's full milk would draw.
  double demand_mcal(double maintenance_mcal, double potential_milk_mcal, double intake_mcal) const;
  /// Exponential mean of the demand [Mcal/d] after one more day, starting from 0.
  double smoothed_mcal(double last_smoothed_mcal, double demand_mcal) const;
  /// Body energy she can draw [Mcal/d] without losing milk.
  double most_mcal(double body_weight_kg) const;
  /// Share of milk left, 0-1.
  double operator()(double smoothed_demand_mcal, double body_weight_kg) const;

 private:
  double energy_per_metabolic_kg_, exponent_, strength_, weight_, milk_efficiency_, body_efficiency_;
};

/// Share of milk left at a two-day mean temperature [degC] (Prunier et al. 1997; nothing below 25 degC).
class HeatOnMilk {
 public:
  explicit HeatOnMilk(const Coefficients& coefficients);
  double operator()(double milk_temperature_deg_c) const;

 private:
  double slope_per_k_, above_deg_c_;
};

/// Share of milk left after a loss of body protein [share of what she had at farrowing] (Clowes et al. 2003).
class ProteinLimit {
 public:
  explicit ProteinLimit(const Coefficients& coefficients);
  double operator()(double protein_loss_share) const;

 private:
  double above_, step_, fall_, least_;
};

/// How a lactation starts.
enum class StartKind { normal, bad };

/// Share of potential milk in the first days: every litter's own spread, and a few bad starts; back to 1 by day 6.
class LitterStart {
 public:
  explicit LitterStart(const Coefficients& coefficients);
  StartKind kind(double uniform) const { return uniform < bad_share_ ? StartKind::bad : StartKind::normal; }
  /// From a standard-normal z per litter; days up to the third in full, then fading.
  double operator()(int lactation_day, StartKind kind, double z) const;
  /// Ratio of the starvation hazard on this day.
  double starvation_hazard_ratio(int lactation_day, StartKind kind) const;

 private:
  double fading(int lactation_day) const;
  double sd_log_, bad_share_, bad_milk_, until_d_, back_by_d_, starvation_ratio_, starvation_until_d_;
};

/// What scales a day's potential milk.
struct MilkInputs {
  double potential_mcal = 0;
  double body_weight_kg = 0;
  double smoothed_demand_mcal = 0;
  double milk_temperature_deg_c = 20;
  double protein_loss_share = 0;
  double health_multiplier = 1;
  double litter_start_multiplier = 1;
};

/// The day's milk energy and every factor on it.
struct MilkParts {
  double potential_mcal = 0;
  double heat_factor = 1;
  double reserve_factor = 1;
  double protein_factor = 1;
  double health_multiplier = 1;
  double litter_start_multiplier = 1;
  double milk_mcal = 0;
};

/// The day's milk energy [Mcal/d].
class MilkYield {
 public:
  explicit MilkYield(const Coefficients& coefficients);
  MilkParts operator()(const MilkInputs& sow) const;
  const ReserveLimit& reserve_limit() const { return reserve_; }

 private:
  HeatOnMilk heat_;
  ReserveLimit reserve_;
  ProteinLimit protein_;
};

}  // namespace farrowtide
