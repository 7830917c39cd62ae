#include "libsim/model/litter/gestation.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {
namespace {

constexpr double hours_a_day = 24;
constexpr double radians_per_h = 2 * std::numbers::pi / hours_a_day;

}  // namespace

GestationLength::GestationLength(const Coefficients& coefficients)
    : herd_mean_d_{coefficients.number("sow.gestation.length_herd_mean", "d")},
      sow_sd_d_{coefficients.number("sow.gestation.length_sow_sd", "d")},
      farrowing_sd_d_{coefficients.number("sow.gestation.length_residual_sd", "d")},
      per_piglet_d_{coefficients.number("sow.gestation.length_per_piglet", "d/piglet")},
      centre_piglets_{coefficients.number("sow.gestation.length_per_piglet_centre", "piglets")},
      least_d_{coefficients.number("sow.gestation.length_least", "d")},
      most_d_{coefficients.number("sow.gestation.length_most", "d")},
      service_spread_d_{coefficients.number("sow.gestation.service_spread_sd", "d")} {}

double GestationLength::operator()(double total_born, double sow_z, double farrowing_z) const {
  const double days =
      herd_mean_d_ + sow_sd_d_ * sow_z + farrowing_sd_d_ * farrowing_z + per_piglet_d_ * (total_born - centre_piglets_);
  return std::clamp(days, least_d_, most_d_);
}

OnsetHour::OnsetHour(const Coefficients& coefficients)
    : meal_amplitude_{coefficients.number("sow.onset_hour.meal_amplitude", "-")},
      meal_lag_h_{coefficients.number("sow.onset_hour.meal_lag", "h")},
      clock_amplitude_{coefficients.number("sow.onset_hour.clock_amplitude", "-")},
      clock_peak_h_{coefficients.number("sow.onset_hour.clock_peak_hour", "h")} {}

OnsetHour::Wave OnsetHour::wave(std::span<const double> meal_hours) const {
  double along = clock_amplitude_ * std::cos(radians_per_h * clock_peak_h_);
  double across = clock_amplitude_ * std::sin(radians_per_h * clock_peak_h_);
  for (const double meal : meal_hours) {
    const double angle = radians_per_h * (meal + meal_lag_h_);
    along += meal_amplitude_ * std::cos(angle) / static_cast<double>(meal_hours.size());
    across += meal_amplitude_ * std::sin(angle) / static_cast<double>(meal_hours.size());
  }
  // Not std::hypot, whose last bit depends on the C library.
  return {std::sqrt(along * along + across * across), std::atan2(across, along) / radians_per_h};
}

double OnsetHour::Wave::cumulative(double hour) const {
  const double risen = std::sin(radians_per_h * (hour - peak_hour)) + std::sin(radians_per_h * peak_hour);
  return (hour + amplitude / radians_per_h * risen) / hours_a_day;
}

double OnsetHour::operator()(std::span<const double> meal_hours, double uniform) const {
  const Wave hours = wave(meal_hours);
  // Bisection, not Newton: regardless of rounding, a higher uniform draw never gives an earlier hour.
  double low = 0;
  double high = hours_a_day;
  while (true) {
    const double middle = low + (high - low) / 2;
    if (middle <= low || middle >= high) return low;
    (hours.cumulative(middle) < uniform ? low : high) = middle;
  }
}

double OnsetHour::density(std::span<const double> meal_hours, double hour) const {
  const auto [amplitude, peak_hour] = wave(meal_hours);
  return (1 + amplitude * std::cos(radians_per_h * (hour - peak_hour))) / hours_a_day;
}

double OnsetHour::cumulative(std::span<const double> meal_hours, double hour) const {
  return wave(meal_hours).cumulative(hour);
}

Induction::Induction(const Coefficients& coefficients)
    : single_{coefficients.number("sow.induction.delay_mean_single", "h"),
              coefficients.number("sow.induction.delay_sd_single", "h"),
              std::log(coefficients.number("sow.induction.duration_multiplier_single", "-"))},
      split_{coefficients.number("sow.induction.delay_mean_split", "h"),
             coefficients.number("sow.induction.delay_sd_split", "h"),
             std::log(coefficients.number("sow.induction.duration_multiplier_split", "-"))},
      earliest_before_mean_d_{coefficients.number("sow.induction.earliest_before_herd_mean", "d")} {}

double Induction::delay_h(InductionSchedule schedule, double z) const {
  return std::max(0.0, of(schedule).mean_h + of(schedule).sd_h * z);
}

double Induction::log_interval_multiplier(InductionSchedule schedule) const {
  return of(schedule).log_interval_multiplier;
}

}  // namespace farrowtide
