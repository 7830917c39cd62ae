#pragma once

#include "libsim/model/curves/knot_curve.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Inputs to a rectal temperature reading.
struct RectalTemperatureInputs {
  double since_farrowing_h = 24;  ///< since the last birth, negative before it
  double clock_hour = 10;
  int parity = 3;
  double room_deg_c = 20;
  double sow_z = 0;          ///< standard normal, per sow
  double start_z = 0;        ///< standard normal, how well her litter starts
  double measurement_z = 0;  ///< standard normal, per reading
  double severity = 0;       ///< IllnessSeverity while she is ill, else 0
};

/// Rectal temperature of a sow. On its own it should not trigger treatment.
/// Equation:
///   rise(t) [K] = max(0, time_course(t) + late_fall * max(0, t - last_knot) / 24)
///   clock [K] = clock_amplitude * cos(2 * pi * (h - clock_peak_hour) / 24)
///   T [degC] = base + rise(t) + clock + (rectal_temperature.first_parity if parity = 1)
///     + room_temperature * max(0, T_room - room_temperature_from)
///     + sow_sd * own + measurement_sd * z + illness_per_severity * severity
///   own [-] = sqrt(1 - slow_start_correlation^2) * z_sow - slow_start_correlation * z_start
///   alarm 'above' rectal_temperature.alarm; 'checked' check_at 'after the last birth'
/// Where: t [h] time since the last birth, negative before it; last_knot [h] last knot of time_course, after which it
///   falls; h [h] clock hour; parity [-] of the sow; T_room [degC] room temperature; z_sow, z [-] standard normal, per
///   sow and per reading; z_start [-] of LitterStart; severity [-] of IllnessSeverity while she is ill, else 0; alarm
///   [-] a reading that counts as a sign
/// Valid: 12 h before farrowing to weaning
/// Source: Stiehler et al. 2015; Gourdine et al. 2007; illness, room temperature and the slow start assumed
class RectalTemperature {
 public:
  explicit RectalTemperature(const Coefficients& coefficients);
  double operator()(const RectalTemperatureInputs& sow) const;
  /// Rise above the late-gestation level [K]; after the last knot it falls back to 0 (Gourdine et al. 2007).
  double rise_k(double since_farrowing_h) const;
  /// A reading above this is an alarm.
  double alarm_deg_c() const { return alarm_deg_c_; }
  /// Time from the last birth at which the check is due [h].
  double check_at_h() const { return check_at_h_; }

 private:
  KnotCurve time_course_;
  double falls_from_h_, late_fall_k_per_d_;
  double base_deg_c_, clock_amplitude_k_, clock_peak_h_, sow_sd_k_, measurement_sd_k_, first_parity_k_;
  double per_room_k_, room_from_deg_c_, per_severity_k_, slow_start_, alarm_deg_c_, check_at_h_;
};

}  // namespace farrowtide
