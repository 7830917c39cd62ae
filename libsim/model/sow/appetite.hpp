#pragma once

#include "libsim/model/curves/knot_curve.hpp"
#include "libsim/model/curves/parity_table.hpp"
#include "libsim/model/sow/diet.hpp"
#include "libsim/model/sow/feed_harm.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Form in which feed is offered: dry, dry with water added in the trough, or mixed with water before delivery.
enum class FeedForm { dry, with_water, liquid };

/// Daily appetite of a reference sow with feed always available. Allowances of hand-fed sows limit what she eats of it;
/// the handbook's curve, of herds as fed, starts lower.
/// Equation:
///   day [d] = max(1, d)
///   x [-] = (day / half_time[parity])^shape
///   energy [kcal/d] = energy_at_zero + (energy_asymptote - energy_at_zero) * x / (1 + x)
///   late [-] = exp(-late_fall * max(0, d - late_from))
///   start [-] = farrowing_day_appetite_multiplier if d < 1, else 1
///   compensated [-] = (E_usual / E_diet)^energy_compensation
///   curve [kg/d] = start * late * compensated * energy / E_usual
/// Where: d [d] day of lactation, 0 on the day of farrowing; parity [-] of the sow; E_diet [kcal/kg] metabolisable
///   energy of the diet; E_usual [kcal/kg] that of the default diet
/// Valid: days 1-28; day 0 is assumed
/// Source: shape of NRC 2012, Nutrient Requirements of Swine, from memory; early rise fitted to a trial of full feeding
///   from farrowing (78 sows, 1979) and Huang et al. 2025; late fall between Huang et al. 2025 and Cabezón et al. 2017;
///   energy of the diet Wang et al. 2022
class AppetiteCurve {
 public:
  explicit AppetiteCurve(const Coefficients& coefficients);
  /// Day 0 is a share of day 1.
  double operator()(int lactation_day, int parity, const Diet& diet) const;

 private:
  double mcal_per_day(int day, int parity) const;
  double energy_at_zero_mcal_, energy_asymptote_mcal_, shape_;
  ParityTable half_time_d_;
  double late_fall_per_d_, late_from_d_;
  double reference_mcal_per_kg_, energy_compensation_;
  double farrowing_day_multiplier_;
};

/// Change in appetite with the number of suckling piglets.
/// Equation:
///   n [piglets] = min(N, cap)
///   change [kg/d] = 1000 / E_diet * (intercept + linear * n + quadratic * n^2 - reference)
/// Where: N [piglets] suckling; E_diet [kcal/kg] metabolisable energy of the diet
/// Valid: 6 or more piglets; constant above the cap of 10.4
/// Source: Schinckel et al. 2010; plateau Eissen et al. 2003
class LitterSizeEffect {
 public:
  explicit LitterSizeEffect(const Coefficients& coefficients);
  double mcal_per_day(double piglets) const;
  double operator()(double piglets, const Diet& diet) const;  ///< [kg/d]

 private:
  double intercept_, linear_, quadratic_, reference_, cap_piglets_;
};

/// Change in appetite of a sow with higher or lower milk yield than the mean of her parity.
/// Equation:
///   change [kg/d] = slope * (own - usual) / milk_efficiency * 1000 / E_diet
/// Where: own [Mcal/d] potential milk energy of the sow; usual [Mcal/d] mean of her parity on the same day with the
///   same number of piglets; E_diet [kcal/kg] metabolisable energy of the diet
/// Valid: lactating sows
/// Source: Schinckel et al. 2010
class MilkFeedbackEffect {
 public:
  explicit MilkFeedbackEffect(const Coefficients& coefficients);
  /// Both potentials [Mcal/d] are for the same day and litter size, so litter size is not counted twice.
  double operator()(double own_potential_mcal, double parity_mean_potential_mcal, const Diet& diet) const;

 private:
  double slope_, milk_efficiency_;
};

/// Appetite multiplier for effective temperature, 1 at 20 degC (five climate-chamber trials).
/// Equation:
///   shift [K] = first_parity_shift if parity = 1, else 0
///   f(T) [-] = knots(T - shift) / knots(reference_temperature - shift)
/// Where: T [degC] effective temperature of the day, or temperature of the hour for the appetite clock; parity [-] of
///   the sow
/// Valid: 18-32 degC
/// Source: fitted to Quiniou & Noblet 1999, Renaudeau et al. 2001, Messias de Bragança et al. 1997 and 1998,
///   Stansbury et al. 1987 and Spencer et al. 2003; first parity Gourdine et al. 2004
class TemperatureEffect {
 public:
  explicit TemperatureEffect(const Coefficients& coefficients);
  double operator()(double effective_temperature_deg_c, int parity) const;

 private:
  KnotCurve knots_;
  double reference_deg_c_, first_parity_shift_k_;
};

/// Appetite multiplier for heat that is over: after hot days a sow eats less for some days than the day's own
/// temperature would let her. Under steady heat the multiplier is 1.
/// Equation:
///   loss [-] = 1 - min(1, TemperatureEffect)
///   memory [-] = memory_before + (loss_before - memory_before) / memory_time
///   f [-] = 1 - strength * max(0, memory - loss)
/// Where: memory_before, loss_before [-] of the previous day; both are 0 when she enters the room
/// Valid: strength below 0.5, so that more heat today never raises intake
/// Source: assumption; a pig's rectal temperature takes 12 days to return to normal after heat; 0: no carry-over
class HeatCarryOver {
 public:
  explicit HeatCarryOver(const Coefficients& coefficients);
  /// Share of appetite that the day's own temperature takes.
  static double loss(double temperature_factor);
  double next_memory(double last_memory, double last_loss) const;
  double operator()(double memory, double temperature_factor) const;

 private:
  double memory_time_d_, strength_;
};

/// Appetite multiplier for tiredness after a long labour, fading over the first days.
/// Equation:
///   tired [-] = min(most, slope * max(0, labour - from))
///   f [-] = 1 - tired * max(0, 1 - d / gone_after)
/// Where: labour [h] from the first to the last birth; d [d] day of lactation
/// Valid: day 0 and later
/// Source: assumption; slope 0: no effect
class TirednessEffect {
 public:
  explicit TirednessEffect(const Coefficients& coefficients);
  double operator()(int lactation_day, double labour_h) const;

 private:
  double from_h_, slope_per_h_, most_, gone_after_d_;
};

/// Appetite multiplier for P2 backfat: fatter sows eat less.
/// Equation:
///   slope [1/mm] = slope_first_parity if parity = 1, else slope_later_parities
///   f [-] = clip(1 - slope * (P2 - reference_backfat_p2), least, most)
/// Where: P2 [mm] backfat; parity [-] of the sow
/// Valid: P2 of 8-28 mm
/// Source: review of Eissen et al. 2000, from memory
class ConditionEffect {
 public:
  explicit ConditionEffect(const Coefficients& coefficients);
  double operator()(double backfat_p2_mm, int parity) const;

 private:
  double first_parity_slope_, later_slope_, reference_mm_, least_, most_;
};

/// First-week appetite multiplier for the feed eaten before farrowing (one trial of 48 sows; another found no effect):
/// too little harms any sow, too much a fat one.
/// Equation:
///   harm [-] = FeedHarm if feed > much_from, else 1
///   f [-] = 1 - (1 - knots(feed)) * harm if d <= last_day, else 1
///   feed [kg/d] = mean(eaten) 'over the last' feed_window 'before farrowing'
/// Where: eaten [kg/d] eaten on a day; on days before loading the allowance of late gestation; d [d] day of lactation
/// Valid: 1.8-5.0 kg/d; constant outside this range
/// Source: a late-gestation feeding trial of 48 sows, Aarhus University, authors not recorded; condition Cools et al.
///   2014, size assumed
class PreFarrowFeedEffect {
 public:
  explicit PreFarrowFeedEffect(const Coefficients& coefficients);
  double operator()(int lactation_day, double pre_farrow_feed_kg_per_day, double backfat_p2_mm) const;
  /// Days before farrowing whose feed counts.
  int window_d() const { return window_d_; }

 private:
  KnotCurve knots_;
  FeedHarm harm_;
  double last_day_, much_from_kg_;
  int window_d_;
};

/// Variation in appetite between sows, increasing over the first days, and from day to day within a sow. Sows differ in
/// how steadily they eat.
/// Equation:
///   noise [-] = autocorrelation * noise_before + sqrt(1 - autocorrelation^2) * z
///   g [-] = min(1, growth_start + growth_slope * d)
///   sow [-] = exp(u * g - appetite_sd^2 / 2 * g^2)
///   unsteadiness [-] = exp(unsteadiness_sd * y - unsteadiness_sd^2)
///   sd [kg/d] = unsteadiness * (day_sd_first_parity if parity = 1, else day_sd)
///   appetite [kg/d] = max(0, expected * sow + sd * expected / scale_intake * noise)
/// Where: expected [kg/d] intake before individual variation; u [log] appetite effect of the sow; y [-] standard normal
///   draw per sow; d [d] day of lactation; noise_before [-] noise of the previous day; z [-] standard normal draw per
///   day; parity [-] of the sow
/// Valid: day 0 and later; the sow multiplier has mean 1 and the square of unsteadiness mean 1
/// Source: fitted to Yoder et al. 2012 and 2013, Schinckel et al. 2010, Cabezón et al. 2017, Huang et al. 2025;
///   increase over the first days assumed
class AppetiteVariation {
 public:
  explicit AppetiteVariation(const Coefficients& coefficients);
  /// Next value of the unit-variance AR(1) noise from its previous value and a standard normal z.
  double next_noise(double last_noise, double z) const;
  /// Weight g of the sow effect on this day, 0-1.
  double growth(int lactation_day) const;
  /// Multiplier with mean 1 from the sow's log effect.
  double sow_multiplier(int lactation_day, double sow_effect_log) const;
  /// Multiplier of a sow's daily noise from her standard normal draw; its square has mean 1.
  double unsteadiness(double y) const;
  /// Daily noise [kg/d] around an intake, in proportion to it.
  double noise_kg_per_day(double intake_kg_per_day, double noise, int parity, double unsteadiness) const;
  /// The day's appetite [kg/d]: max(0, intake x sow multiplier + noise).
  double operator()(double intake_kg_per_day, int lactation_day, int parity, double sow_effect_log, double noise,
                    double unsteadiness) const;

 private:
  double start_, slope_, autocorrelation_, unsteadiness_sd_, day_sd_kg_, first_parity_day_sd_kg_, scale_intake_kg_,
      sow_variance_;
};

/// Appetite under full access on the days before farrowing.
/// Equation:
///   appetite [kg/d] = appetite_full_access if d < -1, else appetite_day_before_farrowing
/// Where: d [d] day relative to farrowing, -1 on the day before
/// Valid: from loading to the day before farrowing
/// Source: assumption
class PreFarrowAppetite {
 public:
  explicit PreFarrowAppetite(const Coefficients& coefficients);
  double operator()(int lactation_day) const;

 private:
  double full_access_kg_, day_before_kg_;
};

/// Inputs to a sow's daily appetite.
struct AppetiteInputs {
  int lactation_day = 1;
  int parity = 3;
  Diet diet{};
  double herd_factor = 1;  ///< intake level of the herd relative to the curve
  FeedForm form = FeedForm::dry;
  double piglets = 0;                          ///< suckling
  double own_potential_milk_mcal = 0;          ///< [Mcal/d]
  double parity_mean_potential_milk_mcal = 0;  ///< [Mcal/d] on the same day with the same number of piglets
  double effective_temperature_deg_c = 20;
  double heat_memory = 0;  ///< appetite recently lost to heat, share
  double labour_h = 0;     ///< first to last birth
  double backfat_p2_mm = 18;
  double body_weight_kg = 250;
  double pre_farrow_feed_kg_per_day = 3;
  double backfat_at_farrowing_mm = 18;
  double sow_effect_log = 0;
  double noise = 0;                ///< AR(1), unit variance
  double unsteadiness = 1;         ///< of her daily noise
  double health_multiplier = 1;    ///< illness and leg problems
  double water_multiplier = 1;     ///< drinker flow
  double handling_multiplier = 1;  ///< disturbance of the litter
};

/// The day's appetite and its components, in the order in which they apply.
struct AppetiteParts {
  double curve_kg_per_day = 0;
  double parity_factor = 1;
  double herd_factor = 1;
  double litter_size_kg_per_day = 0;
  double milk_feedback_kg_per_day = 0;
  double temperature_factor = 1;
  double heat_carry_over_factor = 1;
  double tiredness_factor = 1;
  double condition_factor = 1;
  double pre_farrow_feed_factor = 1;
  double sow_multiplier = 1;
  double noise_kg_per_day = 0;
  double wet_feed_multiplier = 1;
  double health_multiplier = 1;
  double water_multiplier = 1;
  double handling_multiplier = 1;
  double appetite_kg_per_day = 0;  ///< what she would eat today with edible feed always available
};

/// Daily appetite of a lactating sow, combining the effects above: what she would eat with edible feed always
/// available.
/// Equation:
///   in_comfort [kg/d] = parity_factor[parity] * herd * AppetiteCurve + LitterSizeEffect + MilkFeedbackEffect
///   expected [kg/d] = max(0, in_comfort) * TemperatureEffect * HeatCarryOver * TirednessEffect * ConditionEffect *
///     PreFarrowFeedEffect
///   wanted [kg/d] = AppetiteVariation(expected)
///   wet [-] = 1 if 'feed is dry', else wet_feed_multiplier
///   appetite [kg/d] = min(wanted * wet * health * water * handling, most_of_weight * BW)
/// Where: BW [kg] body weight; herd [-] intake level of the herd; parity [-] of the sow; health [-] illness and leg
/// problems; water [-]
///   drinker flow and learning; handling [-] disturbance of the litter
/// Valid: day 0 and later
/// Source: parity factors between NRC 2012, Dourmad et al. and a Brazilian trial; wet feed Genest & Dallaire 1995
class Appetite {
 public:
  explicit Appetite(const Coefficients& coefficients);
  AppetiteParts operator()(const AppetiteInputs& sow) const;
  const TemperatureEffect& temperature() const { return temperature_; }
  const HeatCarryOver& heat_carry_over() const { return heat_carry_over_; }
  const PreFarrowFeedEffect& pre_farrow_feed() const { return pre_farrow_feed_; }
  const AppetiteVariation& variation() const { return variation_; }
  /// What a sow can eat in a day at most [kg].
  double most_kg(double body_weight_kg) const { return most_of_weight_ * body_weight_kg; }

 private:
  AppetiteCurve curve_;
  ParityTable parity_factor_;
  LitterSizeEffect litter_size_;
  MilkFeedbackEffect milk_feedback_;
  TemperatureEffect temperature_;
  HeatCarryOver heat_carry_over_;
  TirednessEffect tiredness_;
  ConditionEffect condition_;
  PreFarrowFeedEffect pre_farrow_feed_;
  AppetiteVariation variation_;
  double wet_feed_multiplier_, most_of_weight_;
};

}  // namespace farrowtide
