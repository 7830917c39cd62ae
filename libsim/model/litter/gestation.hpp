#pragma once

#include <span>

namespace farrowtide {

class Coefficients;

/// Days from service to farrowing [d], 109-122 d. Sasaki & Koketsu 2007, Theriogenology 68:123.
class GestationLength {
 public:
  explicit GestationLength(const Coefficients& coefficients);

  /// sow_z stays with the sow, farrowing_z is drawn for each farrowing (both standard normal).
  double operator()(double total_born, double sow_z, double farrowing_z) const;

  /// Days by which this sow's service lies off her group's mean service day [d], z standard normal.
  double service_offset_d(double z) const { return service_spread_d_ * z; }

  double herd_mean_d() const { return herd_mean_d_; }

 private:
  double herd_mean_d_, sow_sd_d_, farrowing_sd_d_, per_piglet_d_, centre_piglets_, least_d_, most_d_, service_spread_d_;
};

/// Clock hour at which labour starts [h, 0-24), from the meals fed before it. Fitted to a 278-sow trial of feeding
/// time.
///
/// Every term of the density is a cosine of 24 h, so their sum is one cosine: density = (1 + R cos(w (h - peak)))/24.
class OnsetHour {
 public:
  explicit OnsetHour(const Coefficients& coefficients);

  /// Inverse of cumulative() at a uniform in (0, 1); never falls when the uniform rises. No meals means full access.
  double operator()(std::span<const double> meal_hours, double uniform) const;

  /// Probability per hour [1/h].
  double density(std::span<const double> meal_hours, double hour) const;

  /// Probability of an onset between midnight and `hour`.
  double cumulative(std::span<const double> meal_hours, double hour) const;

 private:
  struct Wave {
    double amplitude, peak_hour;
    double cumulative(double hour) const;
  };
  Wave wave(std::span<const double> meal_hours) const;

  double meal_amplitude_, meal_lag_h_, clock_amplitude_, clock_peak_h_;
};

/// One injection, or the same dose in two halves.
enum class InductionSchedule { single, split };

/// Hours from a veterinarian's induction to the onset of labour [h]. Gooneratne 1979, Aust J Biol Sci 32:587.
///
/// Prescription drugs: whether and how to induce is the herd veterinarian's decision under local rules.
class Induction {
 public:
  explicit Induction(const Coefficients& coefficients);

  double delay_h(InductionSchedule schedule, double z) const;

  /// Added to the log of every birth interval of an induced sow.
  double log_interval_multiplier(InductionSchedule schedule) const;

  /// Earliest day of gestation at which a scenario may induce [d]; earlier harms the piglets.
  double earliest_d(double herd_mean_gestation_d) const { return herd_mean_gestation_d - earliest_before_mean_d_; }

 private:
  struct Delay {
    double mean_h, sd_h, log_interval_multiplier;
  };
  const Delay& of(InductionSchedule schedule) const { return schedule == InductionSchedule::single ? single_ : split_; }

  Delay single_, split_;
  double earliest_before_mean_d_;
};

}  // namespace farrowtide
