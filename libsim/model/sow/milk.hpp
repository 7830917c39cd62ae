#pragma once

#include <algorithm>
#include <cstddef>
#include <vector>

#include "libsim/model/curves/parity_table.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Lactation curve: daily milk relative to the lactation mean, with mean 1 over days 1 to L. Day 0 and earlier are
/// taken as day 1.
/// Equation:
///   handbook(t) [-] = (a - b * L) * exp(-c * t) * exp(-exp(d - e * t))
///   f(t) [-] = handbook(t) / mean(handbook(1), ..., handbook(L))
///     if shortest_renormalised <= L <= longest_renormalised, else 'the curve of the nearest such length'
/// Where: t [d] day of lactation, at least 1; L [d] lactation length
/// Valid: L 18-30 d, renormalised 17-35 d
/// Source: NRC 2012, Nutrient Requirements of Swine, from memory
class LactationCurve {
 public:
  LactationCurve(const Coefficients& coefficients, int lactation_length_d);
  /// Day 0 and earlier are taken as day 1; days beyond L follow the same curve.
  double operator()(int lactation_day) const {
    const auto day = static_cast<std::size_t>(std::max(1, lactation_day));
    return (day <= handbook_by_day_.size() ? handbook_by_day_[day - 1] : handbook(lactation_day)) / handbook_mean_;
  }
  /// The published curve before scaling to mean 1.
  double handbook(int lactation_day) const;

 private:
  double level_, fall_per_d_, early_, early_rise_per_d_, handbook_mean_;
  std::vector<double> handbook_by_day_;  // from day 1
};

// Lactation curves for every supported lactation length.
class LactationCurves {
 public:
  static constexpr int shortest_d = 17, longest_d = 35;  // supported by the curve
  explicit LactationCurves(const Coefficients& coefficients);
  // A length outside this range takes the nearest supported length.
  const LactationCurve& of_length(int days) const;

 private:
  std::vector<LactationCurve> by_length_;
};

/// Potential milk energy output for a litter by an unstressed, fully fed sow.
/// Equation:
///   sow [-] = exp(u - milk_sd^2 / 2)
///   gain [g/d] = max(0, level - litter_size_slope * (N - litter_size_centre)) * parity_factor[parity] * herd * sow
///   mean_milk [Mcal/d] = max(0, energy_per_litter_gain * gain * N - energy_per_piglet * N) / 1000
///   potential [Mcal/d] = mean_milk * LactationCurve
/// Where: gain is per piglet; N [piglets] suckling; parity [-] of the sow; herd [-] milk level of the herd; u [log]
///   milk effect of the sow
/// Valid: litters of 6-14, extrapolated outside; the sow multiplier has mean 1
/// Source: level fitted to Strathe et al. 2017, Renaudeau et al. 2001; slope Auldist et al. 1998; energy Noblet &
///   Etienne 1989
class MilkPotential {
 public:
  explicit MilkPotential(const Coefficients& coefficients);
  /// Potential daily gain per piglet [g/d]. The sow multiplier has mean 1, so variation between sows shifts no mean.
  double gain_g_per_piglet(double piglets, int parity, double herd_factor = 1, double sow_multiplier = 1) const;
  /// Mean milk energy over the lactation [Mcal/d] for that gain.
  double mean_mcal_per_day(double gain_g_per_piglet, double piglets) const;
  /// Milk energy of a day [Mcal/d] for a value of the lactation curve.
  double operator()(double piglets, int parity, double herd_factor, double sow_multiplier, double curve) const;
  /// Multiplier with mean 1 from the sow's log effect.
  double sow_multiplier(double sow_effect_log) const;

 private:
  double level_g_, slope_g_, centre_piglets_;
  ParityTable parity_factor_;
  double energy_per_gain_kcal_, energy_per_piglet_kcal_, sow_variance_;
};

/// Milk multiplier for the body energy that full milk would require: the more feed falls short, the less milk, smoothly
/// from a surplus to the deepest deficit; first parities give up less of it. Judged on milk before the heat reduction.
/// Equation:
///   demand [Mcal/d] = (Maintenance + potential / milk_efficiency - intake) * milk_efficiency / body_to_milk_efficiency
///   smoothed [Mcal/d] = smoothed_before + (1 - exp(-1 / memory)) * (demand - smoothed_before)
///   drawn(x) [Mcal/kg^0.75/d] = smoothing * ln(1 + exp(x / smoothing))
///   f [-] = exp(-slope[parity] * (drawn(smoothed / BW^metabolic_exponent) - drawn(usual_demand)))
/// Where: potential [Mcal/d] potential milk energy; intake [Mcal/d] feed energy; BW [kg] body weight; smoothed_before
///   [Mcal/d] value of the previous day, the usual demand at farrowing; x [Mcal/kg^0.75/d] a demand; parity [-] of the
///   sow
/// Valid: from half to free intake; 1 at the usual demand, that of the trials behind MilkPotential
/// Source: later parities fitted to Sulabo et al. 2010, Renaudeau et al. 2001; first parity to Noblet & Etienne 1987,
///   Prunier et al. 1997; efficiencies NRC 2012
class FeedOnMilk {
 public:
  explicit FeedOnMilk(const Coefficients& coefficients);
  /// Body energy [Mcal/d] that full milk would require to be mobilised that day.
  double demand_mcal(double maintenance_mcal, double potential_milk_mcal, double intake_mcal) const;
  /// Exponentially smoothed demand [Mcal/d] after one more day.
  double smoothed_mcal(double last_smoothed_mcal, double demand_mcal) const;
  /// Body energy demand [Mcal/d] at which milk equals its potential.
  double usual_mcal(double body_weight_kg) const;
  /// Milk multiplier, above 0.
  double operator()(double smoothed_demand_mcal, double body_weight_kg, int parity) const;

 private:
  ParityTable slope_;
  double drawn(double demand_per_metabolic_kg) const;
  double usual_per_metabolic_kg_, smoothing_, exponent_, weight_, milk_efficiency_, body_efficiency_;
};

/// Milk multiplier for the two-day mean temperature, smooth about the temperature from which it falls.
/// Equation:
///   warm [K] = smoothing * ln(1 + exp((Tm - above) / smoothing))
///   f [-] = exp(-slope * warm)
/// Where: Tm [degC] of EffectiveTemperature
/// Valid: 15-32 degC
/// Source: Prunier et al. 1997; threshold Quiniou & Noblet 1999
class HeatOnMilk {
 public:
  explicit HeatOnMilk(const Coefficients& coefficients);
  double operator()(double milk_temperature_deg_c) const;

 private:
  double slope_per_k_, above_deg_c_, smoothing_k_;
};

/// Milk multiplier for loss of body protein.
/// Equation:
///   f [-] = max(least, 1 - fall * max(0, loss - above) / step)
/// Where: loss [-] body protein lost, as a share of body protein at farrowing
/// Valid: one trial of first-parity sows; steps beyond 10 % assumed
/// Source: threshold Clowes et al. 2003, from memory; slope assumed
class ProteinLimit {
 public:
  explicit ProteinLimit(const Coefficients& coefficients);
  double operator()(double protein_loss_share) const;

 private:
  double above_, step_, fall_, least_;
};

/// Start of a lactation.
enum class StartKind { normal, bad };

/// Multiplier on potential milk in the first days: variation between litters, and a small share of bad starts.
/// Equation:
///   bad if uniform < bad_start_share
///   level [-] = exp(sd * z - sd^2 / 2) * (bad_start_milk if bad, else 1)
///   fading [-] = clip((bad_start_back_by - d) / (bad_start_back_by - bad_start_until), 0, 1)
///   f [-] = 1 + fading * (level - 1)
///   starvation_ratio [-] = bad_start_starvation_ratio if bad and 1 <= d <= bad_start_starvation_until, else 1
/// Where: d [d] day of lactation; z [-] standard normal draw per litter; uniform [-] uniform draw between 0 and 1; bad
///   [-] a bad start
/// Valid: from day 0
/// Source: variation Thompson & Fraser 1988; bad starts assumed
class LitterStart {
 public:
  explicit LitterStart(const Coefficients& coefficients);
  StartKind kind(double uniform) const { return uniform < bad_share_ ? StartKind::bad : StartKind::normal; }
  /// From a standard normal z per litter; the full effect up to day 3, then fading.
  double operator()(int lactation_day, StartKind kind, double z) const;
  /// Starvation hazard ratio on this day.
  double starvation_hazard_ratio(int lactation_day, StartKind kind) const;

 private:
  double fading(int lactation_day) const;
  double sd_log_, bad_share_, bad_milk_, until_d_, back_by_d_, starvation_ratio_, starvation_until_d_;
};

/// Inputs that scale a day's potential milk.
struct MilkInputs {
  double potential_mcal = 0;
  double body_weight_kg = 0;
  int parity = 3;
  double smoothed_demand_mcal = 0;
  double milk_temperature_deg_c = 20;
  double protein_loss_share = 0;
  double lysine_multiplier = 1;
  double health_multiplier = 1;
  double litter_start_multiplier = 1;
};

/// The day's milk energy and its factors.
struct MilkParts {
  double potential_mcal = 0;
  double heat_factor = 1;
  double feed_factor = 1;
  double protein_factor = 1;
  double lysine_multiplier = 1;
  double health_multiplier = 1;
  double litter_start_multiplier = 1;
  double milk_mcal = 0;
};

/// Daily milk energy.
/// Equation:
///   milk [Mcal/d] = MilkPotential * HeatOnMilk * FeedOnMilk * ProteinLimit * LysineBalance * health * LitterStart
///     - scours_share * scours
/// Where: health [-] illness, low drinking and refusal; scours [Mcal/d] milk energy of the gain lost to scours
/// Valid: day 0 and later
/// Source: see each factor
class MilkYield {
 public:
  explicit MilkYield(const Coefficients& coefficients);
  MilkParts operator()(const MilkInputs& sow) const;
  const FeedOnMilk& feed_on_milk() const { return feed_; }
  /// Of the gain lost to scours, the part that is milk not suckled.
  double scours_share() const { return scours_share_; }

 private:
  HeatOnMilk heat_;
  FeedOnMilk feed_;
  ProteinLimit protein_;
  double scours_share_;
};

}  // namespace farrowtide
