#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>

#include "libsim/model/sow/appetite.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Distribution of a day's appetite over its 24 hours: cumulative share, linear within each hour, 0 at midnight and
/// exactly 1 at the next midnight.
/// Equation:
///   share(t) [-] = (sum(weight[i], i < h) + (t - h) * weight[h]) / sum(weight)
/// Where: t [h] time of day; h, i [h] whole clock hours, h at or before t; weight [-] of each hour
/// Valid: any non-negative weights, not all 0
/// Source: definition
class AppetiteClock {
 public:
  static constexpr std::int64_t seconds_per_hour = 3600;
  static constexpr std::int64_t seconds_per_day = 24 * seconds_per_hour;

  /// The weights are scaled to sum to 1; they must be non-negative and not all zero.
  explicit AppetiteClock(const std::array<double, 24>& hour_weights);

  /// Cumulative share of the day's appetite by a second of the day, 0-86400.
  double share_by(std::int64_t second_of_day) const;
  /// First whole second of the day at which the cumulative share is reached; nullopt if not reached today.
  std::optional<std::int64_t> time_when(double share) const;
  /// Share of the day's appetite in one clock hour, 0-23.
  double hour_share(int hour) const { return arrived_[hour + 1] - arrived_[hour]; }

 private:
  std::array<double, 25> arrived_{};
};

/// Light period, with peaks of feeding at its start and end (Quiniou et al. 2000).
struct LightHours {
  double from_h;       ///< clock hour at which the light goes on
  double until_h;      ///< clock hour at which the light goes off
  double light_share;  ///< share of daily feed intake in the light period at thermoneutrality

  static LightHours standard(const Coefficients& coefficients);
  static LightHours tropical(const Coefficients& coefficients);
};

/// Builds the day's appetite clock from the light period and the temperature of each hour.
/// Equation:
///   w(h) [-] = peak_weight if h < light_from + peak_hours or h >= light_until - peak_hours, else 1
///   usual(h) [-] = light_share * w(h) / sum(w) if 'light', else (1 - light_share) / (24 - (light_until - light_from))
///   night [-] = min(1, TemperatureEffect(Te))
///   weight(h) [-] = usual(h) * TemperatureEffect(T[h]) * (1 if 'light', else night)
/// Where: light_from, light_until [h] of LightHours; light_share [-] of LightHours; h [h] clock hour; T [degC] of each
///   hour; Te [degC] effective temperature of the day
/// Valid: whole light hours
/// Source: Quiniou et al. 2000; Renaudeau et al. 2002
class AppetiteClockMaker {
 public:
  /// Throws if the light hours are not whole clock hours in ascending order.
  AppetiteClockMaker(const Coefficients& coefficients, const LightHours& light);

  AppetiteClock operator()(std::span<const double, 24> temperature_deg_c, double effective_temperature_deg_c,
                           int parity, const TemperatureEffect& temperature) const;
  /// Hourly weights without heat stress.
  const std::array<double, 24>& thermoneutral_weights() const { return weights_; }

 private:
  bool is_light(int hour) const { return hour >= light_from_ && hour < light_until_; }
  int light_from_, light_until_;
  std::array<double, 24> weights_{};
};

}  // namespace farrowtide
