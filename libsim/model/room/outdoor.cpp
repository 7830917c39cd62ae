#include "libsim/model/room/outdoor.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <utility>

#include "libsim/kernel/errors.hpp"

namespace farrowtide {
namespace {

constexpr double days_per_year = 365;

double turn(double part_of_cycle) { return std::cos(2 * std::numbers::pi * part_of_cycle); }

std::string listed(const std::vector<std::string>& names) {
  std::string text;
  for (const auto& name : names) text += (text.empty() ? "" : ", ") + name;
  return text;
}

}  // namespace

OutdoorDay OutdoorDay::constant(double deg_c, double relative_humidity_pct) {
  OutdoorDay day;
  day.temperature_deg_c.fill(deg_c);
  day.relative_humidity_pct.fill(relative_humidity_pct);
  return day;
}

OutdoorClimate OutdoorClimate::preset(const Coefficients& coefficients, std::string_view name) {
  const auto presets = coefficients.group("climate.presets");
  const auto& names = presets.axis_labels("mean");
  const auto found = std::find(names.begin(), names.end(), name);
  if (found == names.end())
    throw UserError("no climate preset '" + std::string(name) + "' (there are " + listed(names) + ")");
  const auto i = static_cast<std::size_t>(found - names.begin());
  const bool southern = presets.table("southern", "-").at(i) == 1;
  return {.mean_deg_c = presets.table("mean", "degC").at(i),
          .annual_amplitude_k = presets.table("annual_amplitude", "K").at(i),
          .daily_amplitude_k = presets.table("daily_amplitude", "K").at(i),
          .warmest_day = coefficients.number(
              southern ? "climate.outdoor.warmest_day_south" : "climate.outdoor.warmest_day_north", "d"),
          .dew_point_less_daily_minimum_k = presets.table("dew_point_below_daily_minimum", "K").at(i)};
}

OutdoorGenerator::OutdoorGenerator(const Coefficients& coefficients, const OutdoorClimate& climate)
    : climate_(climate),
      air_(coefficients),
      warmest_hour_(coefficients.number("climate.outdoor.warmest_hour", "h")),
      autocorrelation_(coefficients.number("climate.outdoor.autocorrelation", "-")),
      sd_winter_k_(coefficients.number("climate.outdoor.sd_winter", "K")),
      sd_summer_k_(coefficients.number("climate.outdoor.sd_summer", "K")) {}

double OutdoorGenerator::harmonic_deg_c(int day_of_year, int hour) const {
  return climate_.mean_deg_c +
         climate_.annual_amplitude_k * turn((day_of_year - climate_.warmest_day) / days_per_year) +
         climate_.daily_amplitude_k * turn((hour - warmest_hour_) / 24);
}

double OutdoorGenerator::sd_k(int day_of_year) const {
  const double summer = (1 + turn((day_of_year - climate_.warmest_day) / days_per_year)) / 2;
  return sd_winter_k_ + summer * (sd_summer_k_ - sd_winter_k_);
}

OutdoorDay OutdoorGenerator::operator()(int day_of_year, double& deviation, std::span<const double, 24> z) const {
  OutdoorDay day;
  for (int hour = 0; hour < 24; ++hour) {
    deviation = autocorrelation_ * deviation + std::sqrt(1 - autocorrelation_ * autocorrelation_) * z[hour];
    day.temperature_deg_c[hour] = harmonic_deg_c(day_of_year, hour) + sd_k(day_of_year) * deviation;
  }
  // The dew point depends on the coolest hour of the day and is constant over the day.
  const double dew_point = *std::min_element(day.temperature_deg_c.begin(), day.temperature_deg_c.end()) +
                           climate_.dew_point_less_daily_minimum_k;
  for (int hour = 0; hour < 24; ++hour)
    day.relative_humidity_pct[hour] = air_.relative_humidity_at_dew_point_pct(day.temperature_deg_c[hour], dew_point);
  return day;
}

OutdoorSeries::OutdoorSeries(std::vector<double> temperature_deg_c, std::vector<double> relative_humidity_pct)
    : temperature_deg_c_(std::move(temperature_deg_c)), relative_humidity_pct_(std::move(relative_humidity_pct)) {
  if (temperature_deg_c_.size() != relative_humidity_pct_.size())
    throw UserError("an outdoor record needs as many humidities as temperatures");
  if (days() < 1) throw UserError("an outdoor record needs at least 24 hours");
}

OutdoorDay OutdoorSeries::day(int day_number) const {
  if (day_number < 0 || day_number >= days())
    throw UserError("the outdoor record has " + std::to_string(days()) + " whole days and day " +
                    std::to_string(day_number) + " (from 0) is needed");
  OutdoorDay day;
  const auto from = static_cast<std::ptrdiff_t>(day_number) * 24;
  std::copy_n(temperature_deg_c_.begin() + from, 24, day.temperature_deg_c.begin());
  std::copy_n(relative_humidity_pct_.begin() + from, 24, day.relative_humidity_pct.begin());
  return day;
}

}  // namespace farrowtide
