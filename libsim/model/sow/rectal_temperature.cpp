#include "libsim/model/sow/rectal_temperature.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace farrowtide {

RectalTemperature::RectalTemperature(const Coefficients& coefficients)
    : time_course_(coefficients, "sow.rectal_temperature.time_course", "K"),
      falls_from_h_(coefficients.axis("sow.rectal_temperature.time_course").back()),
      late_fall_k_per_d_(coefficients.number("sow.rectal_temperature.late_fall", "K/d")),
      base_deg_c_(coefficients.number("sow.rectal_temperature.base", "degC")),
      clock_amplitude_k_(coefficients.number("sow.rectal_temperature.clock_amplitude", "K")),
      clock_peak_h_(coefficients.number("sow.rectal_temperature.clock_peak_hour", "h")),
      sow_sd_k_(coefficients.number("sow.rectal_temperature.sow_sd", "K")),
      measurement_sd_k_(coefficients.number("sow.rectal_temperature.measurement_sd", "K")),
      first_parity_k_(coefficients.number("sow.rectal_temperature.first_parity", "K")),
      per_room_k_(coefficients.number("sow.rectal_temperature.room_temperature", "K/K")),
      room_from_deg_c_(coefficients.number("sow.rectal_temperature.room_temperature_from", "degC")),
      per_severity_k_(coefficients.number("sow.rectal_temperature.illness_per_severity", "K")),
      slow_start_(coefficients.number("sow.rectal_temperature.slow_start_correlation", "-")),
      alarm_deg_c_(coefficients.number("sow.rectal_temperature.alarm", "degC")),
      check_at_h_(coefficients.number("sow.rectal_temperature.check_at", "h")) {}

double RectalTemperature::rise_k(double since_farrowing_h) const {
  const double days_of_fall = std::max(0.0, since_farrowing_h - falls_from_h_) / 24;
  return std::max(0.0, time_course_(since_farrowing_h) + late_fall_k_per_d_ * days_of_fall);
}

double RectalTemperature::operator()(const RectalTemperatureInputs& sow) const {
  const double own = std::sqrt(1 - slow_start_ * slow_start_) * sow.sow_z - slow_start_ * sow.start_z;
  const double clock = std::cos(2 * std::numbers::pi * (sow.clock_hour - clock_peak_h_) / 24);
  return base_deg_c_ + rise_k(sow.since_farrowing_h) + clock_amplitude_k_ * clock +
         (sow.parity == 1 ? first_parity_k_ : 0) + per_room_k_ * std::max(0.0, sow.room_deg_c - room_from_deg_c_) +
         sow_sd_k_ * own + measurement_sd_k_ * sow.measurement_z + per_severity_k_ * sow.severity;
}

}  // namespace farrowtide
