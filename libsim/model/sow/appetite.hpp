#pragma once

#include "libsim/model/sow/diet.hpp"
#include "libsim/model/sow/knot_curve.hpp"
#include "libsim/model/sow/parity_table.hpp"
#include "libsim/policy/feeding/feeding.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// How feed reaches her: dry, dry with water added in the trough, or mixed wet before it is delivered.
enum class FeedForm { dry, with_water, liquid };

/// Daily feed of a reference sow as fed [kg/d] on day of lactation 0 and later (NRC 2012; supported for days 1-28).
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

/// Change of appetite with the number of piglets that suckle (Schinckel et al. 2010; flat above 10.4 piglets).
class LitterSizeEffect {
 public:
  explicit LitterSizeEffect(const Coefficients& coefficients);
  double mcal_per_day(double piglets) const;
  double operator()(double piglets, const Diet& diet) const;  ///< [kg/d]

 private:
  double intercept_, linear_, quadratic_, reference_, cap_piglets_;
};

/// Change of appetite [kg/d] for a sow that gives more or less milk than her parity's mean (Schinckel et al. 2010).
class MilkFeedbackEffect {
 public:
  explicit MilkFeedbackEffect(const Coefficients& coefficients);
  /// Both potentials are of the same day and number of piglets [Mcal/d], so this repeats no effect of litter size.
  double operator()(double own_potential_mcal, double parity_mean_potential_mcal, const Diet& diet) const;

 private:
  double slope_, milk_efficiency_;
};

/// Share of appetite left at an effective temperature [degC], 1 at 20 degC (supported 18-30 degC; five chamber trials).
class TemperatureEffect {
 public:
  explicit TemperatureEffect(const Coefficients& coefficients);
  double operator()(double effective_temperature_deg_c, int parity) const;

 private:
  KnotCurve knots_;
  double reference_deg_c_, first_parity_shift_k_;
};

/// Share of appetite left at a P2 backfat [mm]: fat sows eat less (Eissen et al. 2000, from memory).
class ConditionEffect {
 public:
  explicit ConditionEffect(const Coefficients& coefficients);
  double operator()(double backfat_p2_mm, int parity) const;

 private:
  double first_parity_slope_, later_slope_, reference_mm_, least_, most_;
};

/// Share of first-week appetite left after the daily feed of late gestation [kg/d] (one trial of 48 sows; another found
/// nothing).
class LateGestationFeedEffect {
 public:
  explicit LateGestationFeedEffect(const Coefficients& coefficients);
  double operator()(int lactation_day, double late_gestation_feed_kg_per_day) const;

 private:
  KnotCurve knots_;
  double last_day_;
};

/// Spread of appetite between sows, growing over the first days, and from day to day.
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

/// Appetite under full access on the days before farrowing (day -1 is the day before) [kg/d].
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

/// The day's appetite [kg/d] of a lactating sow, composed of the effects above (day 0 and later).
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
