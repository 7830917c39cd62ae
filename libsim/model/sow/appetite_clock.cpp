#include "libsim/model/sow/appetite_clock.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "libsim/kernel/errors.hpp"

namespace farrowtide {

AppetiteClock::AppetiteClock(const std::array<double, 24>& hour_weights) {
  const double total = std::accumulate(hour_weights.begin(), hour_weights.end(), 0.0);
  if (!(total > 0) || *std::min_element(hour_weights.begin(), hour_weights.end()) < 0)
    throw InternalError("the hours of an appetite clock need weights of 0 or more, not all 0");
  for (int hour = 0; hour < 24; ++hour) arrived_[hour + 1] = arrived_[hour] + hour_weights[hour] / total;
  arrived_[24] = 1;
}

double AppetiteClock::share_by(std::int64_t second_of_day) const {
  if (second_of_day < 0 || second_of_day > seconds_per_day) throw InternalError("a second of the day is 0 to 86400");
  if (second_of_day == seconds_per_day) return arrived_[24];
  const auto hour = second_of_day / seconds_per_hour;
  const double way = static_cast<double>(second_of_day % seconds_per_hour) / seconds_per_hour;
  return arrived_[hour] + way * (arrived_[hour + 1] - arrived_[hour]);
}

std::optional<std::int64_t> AppetiteClock::time_when(double share) const {
  if (share <= 0) return 0;
  if (!(share <= 1)) return std::nullopt;
  const auto next = std::lower_bound(arrived_.begin(), arrived_.end(), share);
  const auto hour = (next - arrived_.begin()) - 1;
  const double way = (share - arrived_[hour]) / (*next - arrived_[hour]);
  auto second = hour * seconds_per_hour + static_cast<std::int64_t>(std::ceil(way * seconds_per_hour));
  // Rounding may be off by one second either way; return the first whole second at which the share is reached.
  while (second > 0 && share_by(second - 1) >= share) --second;
  while (second < seconds_per_day && share_by(second) < share) ++second;
  return second;
}

LightHours LightHours::standard(const Coefficients& coefficients) {
  const auto clock = coefficients.group("sow.meals.clock");
  return {.from_h = clock.number("light_from", "h"),
          .until_h = clock.number("light_until", "h"),
          .light_share = clock.number("light_share", "-")};
}

LightHours LightHours::tropical(const Coefficients& coefficients) {
  LightHours light = standard(coefficients);
  light.light_share = coefficients.number("sow.meals.clock.light_share_tropical", "-");
  return light;
}

AppetiteClockMaker::AppetiteClockMaker(const Coefficients& coefficients, const LightHours& light)
    : light_from_(static_cast<int>(light.from_h)), light_until_(static_cast<int>(light.until_h)) {
  if (light_from_ != light.from_h || light_until_ != light.until_h || light_from_ < 0 || light_from_ >= light_until_ ||
      light_until_ > 24)
    throw UserError("light hours must be whole clock hours, on before off, within 0 to 24");
  if (light.light_share < 0 || light.light_share > 1) throw UserError("the light's share of feed must be 0 to 1");
  const double peak_hours = coefficients.number("sow.meals.clock.peak_hours", "h");
  const double peak_weight = coefficients.number("sow.meals.clock.peak_weight", "-");
  for (int hour = light_from_; hour < light_until_; ++hour) {
    const bool at_an_end = hour < light_from_ + peak_hours || hour >= light_until_ - peak_hours;
    weights_[hour] = at_an_end ? peak_weight : 1;
  }
  // Light hours divide the light share by weight; dark hours divide the rest evenly.
  const double light_total = std::accumulate(weights_.begin(), weights_.end(), 0.0);
  const int dark_hours = 24 - (light_until_ - light_from_);
  for (int hour = 0; hour < 24; ++hour)
    weights_[hour] =
        is_light(hour) ? light.light_share * weights_[hour] / light_total : (1 - light.light_share) / dark_hours;
}

AppetiteClock AppetiteClockMaker::operator()(std::span<const double, 24> temperature_deg_c,
                                             double effective_temperature_deg_c, int parity,
                                             const TemperatureEffect& temperature) const {
  // On a hot day intake falls at night too: she lies still.
  const double night_factor = std::min(1.0, temperature(effective_temperature_deg_c, parity));
  std::array<double, 24> weights = weights_;
  for (int hour = 0; hour < 24; ++hour)
    weights[hour] *= temperature(temperature_deg_c[hour], parity) * (is_light(hour) ? 1 : night_factor);
  return AppetiteClock{weights};
}

}  // namespace farrowtide
