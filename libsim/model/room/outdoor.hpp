#pragma once

#include <array>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "libsim/model/room/psychrometrics.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Outdoor air over 24 hours.
struct OutdoorDay {
  std::array<double, 24> temperature_deg_c{};
  std::array<double, 24> relative_humidity_pct{};

  static OutdoorDay constant(double deg_c, double relative_humidity_pct);
};

/// Annual and daily temperature cycle of a location.
struct OutdoorClimate {
  double mean_deg_c;
  double annual_amplitude_k;
  double daily_amplitude_k;
  double warmest_day;  ///< day of the year
  double dew_point_less_daily_minimum_k;

  /// A preset by name; throws a UserError that lists the available presets.
  static OutdoorClimate preset(const Coefficients& coefficients, std::string_view name);
};

/// Hourly weather: annual and daily harmonics plus an autocorrelated deviation.
/// Equation:
///   year [-] = cos(2 * pi * (day - warmest_day) / 365)
///   harmonic [degC] = mean + annual * year + daily * cos(2 * pi * (h - warmest_hour) / 24)
///   deviation [-] = autocorrelation * deviation_before + sqrt(1 - autocorrelation^2) * z
///   sd [K] = sd_winter + (1 + year) / 2 * (sd_summer - sd_winter)
///   T(h) [degC] = harmonic + sd * deviation
///   T_dew [degC] = min(T(0), ..., T(23)) + dew_point
///   RH(h) [%] = 100 * min(1, saturation(T_dew) / saturation(T(h)))
/// Where: day [d] of the year; h [h] clock hour; mean [degC] of OutdoorClimate; annual, daily [K] its amplitudes;
///   warmest_day [d] of the year; dew_point [K] dew point minus the temperature of the coolest hour; deviation_before
///   [-] deviation of the previous hour; z [-] standard normal, per hour; saturation [Pa] of Psychrometrics
/// Valid: climates similar to the presets
/// Source: model form Richardson 1981; amplitudes assumed
class OutdoorGenerator {
 public:
  OutdoorGenerator(const Coefficients& coefficients, const OutdoorClimate& climate);
  /// Temperature without the deviation [degC].
  double harmonic_deg_c(int day_of_year, int hour) const;
  /// Hourly values of a day from 24 standard normal z; the deviation [in SD] is carried over to the next day.
  OutdoorDay operator()(int day_of_year, double& deviation, std::span<const double, 24> z) const;

 private:
  double sd_k(int day_of_year) const;
  OutdoorClimate climate_;
  Psychrometrics air_;
  double warmest_hour_, autocorrelation_, sd_winter_k_, sd_summer_k_;
};

/// Hourly outdoor record supplied by the user, starting at the first midnight of the scenario.
class OutdoorSeries {
 public:
  /// Throws UserError if the two columns differ in length or do not contain a whole day.
  OutdoorSeries(std::vector<double> temperature_deg_c, std::vector<double> relative_humidity_pct);
  int days() const { return static_cast<int>(temperature_deg_c_.size() / 24); }
  /// Throws UserError beyond the last whole day.
  OutdoorDay day(int day_number) const;

 private:
  std::vector<double> temperature_deg_c_, relative_humidity_pct_;
};

}  // namespace farrowtide
