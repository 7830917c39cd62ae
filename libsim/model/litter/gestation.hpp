#pragma once

#include <span>

#include "libsim/kernel/names.hpp"

namespace farrowtide {

class Coefficients;

/// Gestation length: days from service to farrowing.
/// Equation:
///   days [d] = length_herd_mean + length_sow_sd * z_sow + length_residual_sd * z
///     + length_per_piglet * (TB - length_per_piglet_centre)
///   length [d] = clip(days, length_least, length_most)
///   service [d] = service_spread_sd * z_service
/// Where: TB [piglets] total born; z_sow, z, z_service [-] standard normal per sow, per farrowing and per service;
///   service is relative to the mean service day of her group
/// Valid: 109-122 d
/// Source: Sasaki & Koketsu 2007, Theriogenology 68:123; slope and spread of services assumed
class GestationLength {
 public:
  explicit GestationLength(const Coefficients& coefficients);

  /// sow_z is permanent for the sow, farrowing_z is drawn for each farrowing (both standard normal).
  double operator()(double total_born, double sow_z, double farrowing_z) const;

  /// Deviation of this sow's service from the mean service day of her group [d], z standard normal.
  double service_offset_d(double z) const { return service_spread_d_ * z; }

  double herd_mean_d() const { return herd_mean_d_; }

 private:
  double herd_mean_d_, sow_sd_d_, farrowing_sd_d_, per_piglet_d_, centre_piglets_, least_d_, most_d_, service_spread_d_;
};

/// Clock hour of the onset of labour, from the meal times before it.
///
/// Every term of the density is a cosine with a period of 24 h, so their sum is a single cosine.
/// Equation:
///   meal [-] = mean(meal_amplitude * cos(2 * pi * (h - h_meal - meal_lag) / 24)) 'over her meals; 0 without meals'
///   clock [-] = clock_amplitude * cos(2 * pi * (h - clock_peak_hour) / 24)
///   density(h) [1/h] = (1 + meal + clock) / 24
///   onset [h] = 'the hour at which the integral of' density 'reaches' uniform
/// Where: h [h] clock hour; h_meal [h] of each meal; uniform [-] uniform draw between 0 and 1, one per farrowing
/// Valid: one to several meals a day; full access counts as no meals
/// Source: fitted to a 278-sow trial of feeding time, authors not recorded; lag assumed
class OnsetHour {
 public:
  explicit OnsetHour(const Coefficients& coefficients);

  /// Inverse of cumulative() at a uniform draw in (0, 1), non-decreasing in the draw. No meals means full access.
  double operator()(std::span<const double> meal_hours, double uniform) const;

  /// Probability density [1/h].
  double density(std::span<const double> meal_hours, double hour) const;

  /// Probability of onset between midnight and `hour`.
  double cumulative(std::span<const double> meal_hours, double hour) const;

 private:
  struct Wave {
    double amplitude, peak_hour;
    double cumulative(double hour) const;
  };
  Wave wave(std::span<const double> meal_hours) const;

  double meal_amplitude_, meal_lag_h_, clock_amplitude_, clock_peak_h_;
};

/// A single injection, or the same dose split in two.
enum class InductionSchedule { single, split };
constexpr auto names(InductionSchedule) {
  return std::to_array<Name<InductionSchedule>>(
      {{InductionSchedule::single, "single"}, {InductionSchedule::split, "split"}});
}

/// Hours from induction of farrowing, under veterinary prescription, to the onset of labour.
///
/// Induction uses prescription drugs: whether and how to induce is the herd veterinarian's decision under local rules.
/// Equation:
///   delay [h] = max(0, delay_mean_single + delay_sd_single * z), 'or with' delay_mean_split 'and' delay_sd_split
///   log_interval [log] = ln(duration_multiplier_single) 'or' ln(duration_multiplier_split)
///   earliest [d] = length_herd_mean - earliest_before_herd_mean
/// Where: z [-] standard normal draw; length_herd_mean [d] of GestationLength; log_interval is added to every birth
///   interval; earliest is the first day of gestation at which a scenario may induce
/// Valid: not before the earliest day; earlier induction would harm the piglets
/// Source: Gooneratne 1979; a 91-sow trial, authors not recorded; Monteiro et al. 2022; multipliers assumed
class Induction {
 public:
  explicit Induction(const Coefficients& coefficients);

  double delay_h(InductionSchedule schedule, double z) const;

  /// Added to the log of each birth interval of an induced sow.
  double log_interval_multiplier(InductionSchedule schedule) const;

  /// Earliest day of gestation at which a scenario may induce [d]; earlier induction harms the piglets.
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
