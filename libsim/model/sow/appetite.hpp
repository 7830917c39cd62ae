#pragma once

#include "libsim/model/sow/diet.hpp"
#include "libsim/model/sow/knot_curve.hpp"
#include "libsim/model/sow/parity_table.hpp"
#include "libsim/policy/feeding/feeding.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// How feed reaches her: dry, dry with water added in the trough, or mixed wet before it is delivered.
enum class FeedForm { dry, with_water, liquid };

/// Daily feed of a reference sow as fed; full access may add in the first days (default nothing).
/// Equation:
///   day [d] = max(1, d)
///   x [-] = (day / half_time)^shape
///   energy [kcal/d] = energy_at_zero + (energy_asymptote - energy_at_zero) * x / (1 + x)
///   early [-] = 1 + free_access_early_extra * exp(-(day - 1) / free_access_early_decay) if 'full access', else 1
///   start [-] = farrowing_day_appetite_multiplier if d < 1, else 1
///   curve [kg/d] = start * early * energy / E_diet
/// Where: d [d] day of lactation, 0 is the farrowing day; E_diet [kcal/kg] metabolisable energy of the diet
/// Valid: days 1-28; day 0 is assumed
/// Source: NRC 2012, Nutrient Requirements of Swine, from memory
class AppetiteCurve {
 public:
  explicit AppetiteCurve(const Coefficients& coefficients);
  /// Day 0 is half of day 1; full access may add in the first days (default nothing).
  double operator()(int lactation_day, const Diet& diet, FeedAccess access = FeedAccess::by_hand) const;

 private:
  double as_fed_mcal_per_day(int day) const;
  double energy_at_zero_mcal_, energy_asymptote_mcal_, half_time_d_, shape_;
  double early_extra_, early_decay_d_, farrowing_day_multiplier_;
};

/// Change of appetite with the number of piglets that suckle.
/// Equation:
///   n [piglets] = min(N, cap)
///   change [kg/d] = 1000 / E_diet * (intercept + linear * n + quadratic * n^2 - reference)
/// Where: N [piglets] that suckle; E_diet [kcal/kg] metabolisable energy of the diet
/// Valid: 6 piglets and more; flat above the cap of 10.4
/// Source: Schinckel et al. 2010; plateau Eissen et al. 2003
class LitterSizeEffect {
 public:
  explicit LitterSizeEffect(const Coefficients& coefficients);
  double mcal_per_day(double piglets) const;
  double operator()(double piglets, const Diet& diet) const;  ///< [kg/d]

 private:
  double intercept_, linear_, quadratic_, reference_, cap_piglets_;
};

/// Change of appetite of a sow that gives more or less milk than her parity's mean.
/// Equation:
///   change [kg/d] = slope * (own - usual) / milk_efficiency * 1000 / E_diet
/// Where: own [Mcal/d] her potential milk; usual [Mcal/d] her parity's mean at the same day and number of piglets;
///   E_diet [kcal/kg] metabolisable energy of the diet
/// Valid: lactating sows
/// Source: Schinckel et al. 2010
class MilkFeedbackEffect {
 public:
  explicit MilkFeedbackEffect(const Coefficients& coefficients);
  /// Both potentials are of the same day and number of piglets [Mcal/d], so this repeats no effect of litter size.
  double operator()(double own_potential_mcal, double parity_mean_potential_mcal, const Diet& diet) const;

 private:
  double slope_, milk_efficiency_;
};

/// Share of appetite left at an effective temperature, 1 at 20 degC (five chamber trials).
/// Equation:
///   shift [K] = first_parity_shift if parity = 1, else 0
///   f(T) [-] = knots(T - shift) / knots(reference_temperature - shift)
/// Where: T [degC] effective temperature of the day, or of an hour for the appetite clock; parity [-] of the sow
/// Valid: 18-30 degC
/// Source: fitted to Quiniou & Noblet 1999, Renaudeau et al. 2001, Messias de Bragança et al. 1997 and 1998
class TemperatureEffect {
 public:
  explicit TemperatureEffect(const Coefficients& coefficients);
  double operator()(double effective_temperature_deg_c, int parity) const;

 private:
  KnotCurve knots_;
  double reference_deg_c_, first_parity_shift_k_;
};

/// Share of appetite left at a P2 backfat: fat sows eat less.
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

/// Share of first-week appetite left after the daily feed of late gestation (one trial of 48 sows; another found
/// nothing).
/// Equation:
///   f [-] = knots(feed) if d <= last_day, else 1
/// Where: feed [kg/d] in late gestation; d [d] day of lactation
/// Valid: 1.8-5.0 kg/d; flat outside
/// Source: a late-gestation feeding trial of 48 sows, Aarhus University, authors not recorded
class LateGestationFeedEffect {
 public:
  explicit LateGestationFeedEffect(const Coefficients& coefficients);
  double operator()(int lactation_day, double late_gestation_feed_kg_per_day) const;

 private:
  KnotCurve knots_;
  double last_day_;
};

/// Spread of appetite between sows, growing over the first days, and from day to day.
/// Equation:
///   noise [-] = autocorrelation * noise_before + sqrt(1 - autocorrelation^2) * z
///   g [-] = min(1, growth_start + growth_slope * d)
///   sow [-] = exp(u * g - appetite_sd^2 / 2 * g^2)
///   sd [kg/d] = day_sd_first_parity if parity = 1, else day_sd
///   appetite [kg/d] = max(0, expected * sow + sd * min(1, expected / scale_intake) * noise)
/// Where: expected [kg/d] intake before the sow's own part; u [log] her appetite effect; d [d] day of lactation;
///   noise_before [-] yesterday's; z [-] standard normal draw of the day; parity [-] of the sow
/// Valid: day 0 and later; the sow's multiplier has mean 1
/// Source: fitted to Yoder et al. 2012 and 2013, Schinckel et al. 2010; growth assumed
class AppetiteVariation {
 public:
  explicit AppetiteVariation(const Coefficients& coefficients);
  /// Next value of the standard AR(1) noise from its last value and a standard-normal z.
  double next_noise(double last_noise, double z) const;
  /// Weight g of the sow's effect on this day, 0-1.
  double growth(int lactation_day) const;
  /// Mean-correct multiplier of a sow's log effect.
  double sow_multiplier(int lactation_day, double sow_effect_log) const;
  /// Day noise [kg/d] around an intake that small appetites shrink with them.
  double noise_kg_per_day(double intake_kg_per_day, double noise, int parity) const;
  /// The day's appetite [kg/d]: max(0, intake x sow multiplier + noise).
  double operator()(double intake_kg_per_day, int lactation_day, int parity, double sow_effect_log, double noise) const;

 private:
  double start_, slope_, autocorrelation_, day_sd_kg_, first_parity_day_sd_kg_, scale_intake_kg_, sow_variance_;
};

/// Appetite under full access on the days before farrowing.
/// Equation:
///   appetite [kg/d] = appetite_full_access if d < -1, else appetite_day_before_farrowing
/// Where: d [d] day, -1 is the day before farrowing
/// Valid: loading to the day before farrowing
/// Source: assumption
class PreFarrowAppetite {
 public:
  explicit PreFarrowAppetite(const Coefficients& coefficients);
  double operator()(int lactation_day) const;

 private:
  double full_access_kg_, day_before_kg_;
};

/// What a sow's appetite of one day depends on.
struct AppetiteInputs {
  int lactation_day = 1;
  int parity = 3;
  Diet diet{};
  double herd_factor = 1;  ///< level of the herd against the curve
  FeedAccess access = FeedAccess::by_hand;
  FeedForm form = FeedForm::dry;
  double piglets = 0;                          ///< that suckle
  double own_potential_milk_mcal = 0;          ///< [Mcal/d]
  double parity_mean_potential_milk_mcal = 0;  ///< [Mcal/d] at the same day and number of piglets
  double effective_temperature_deg_c = 20;
  double backfat_p2_mm = 18;
  double late_gestation_feed_kg_per_day = 3;
  double sow_effect_log = 0;
  double noise = 0;                ///< AR(1), standard
  double health_multiplier = 1;    ///< illness and legs
  double water_multiplier = 1;     ///< drinker flow
  double handling_multiplier = 1;  ///< disturbance of the litter
};

/// The day's appetite and every part it was made of, in the order they act.
struct AppetiteParts {
  double curve_kg_per_day = 0;
  double parity_factor = 1;
  double herd_factor = 1;
  double litter_size_kg_per_day = 0;
  double milk_feedback_kg_per_day = 0;
  double temperature_factor = 1;
  double condition_factor = 1;
  double late_gestation_feed_factor = 1;
  double sow_multiplier = 1;
  double noise_kg_per_day = 0;
  double wet_feed_multiplier = 1;
  double health_multiplier = 1;
  double water_multiplier = 1;
  double handling_multiplier = 1;
  double appetite_kg_per_day = 0;  ///< what she would eat today with edible feed always there
};

/// The day's appetite of a lactating sow, composed of the effects above: what she would eat with edible feed always
/// there.
/// Equation:
///   in_comfort [kg/d] = parity_factor[parity] * herd * AppetiteCurve + LitterSizeEffect + MilkFeedbackEffect
///   expected [kg/d] = max(0, in_comfort) * TemperatureEffect * ConditionEffect * LateGestationFeedEffect
///   wanted [kg/d] = AppetiteVariation(expected)
///   wet [-] = 1 if 'feed is dry', else wet_feed_multiplier
///   appetite [kg/d] = wanted * wet * health * water * handling
/// Where: herd [-] intake level of the herd; parity [-] of the sow; health [-] illness and legs; water [-] drinker flow
///   and learning; handling [-] disturbance of the litter
/// Valid: day 0 and later
/// Source: parity between NRC 2012, Dourmad et al. and a Brazilian trial; wet feed Genest & Dallaire 1995
class Appetite {
 public:
  explicit Appetite(const Coefficients& coefficients);
  AppetiteParts operator()(const AppetiteInputs& sow) const;
  const TemperatureEffect& temperature() const { return temperature_; }
  const AppetiteVariation& variation() const { return variation_; }

 private:
  AppetiteCurve curve_;
  ParityTable parity_factor_;
  LitterSizeEffect litter_size_;
  MilkFeedbackEffect milk_feedback_;
  TemperatureEffect temperature_;
  ConditionEffect condition_;
  LateGestationFeedEffect late_gestation_feed_;
  AppetiteVariation variation_;
  double wet_feed_multiplier_;
};

}  // namespace farrowtide
