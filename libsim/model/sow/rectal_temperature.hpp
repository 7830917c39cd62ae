#pragma once

#include "libsim/model/sow/knot_curve.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// What a reading of rectal temperature depends on.
struct RectalTemperatureInputs {
  double since_farrowing_h = 24;  ///< from the last birth, negative before
  double clock_hour = 10;
  int parity = 3;
  double room_deg_c = 20;
  double sow_z = 0;          ///< standard normal, of the sow
  double measurement_z = 0;  ///< standard normal, of the reading
  double severity = 0;       ///< IllnessSeverity while she is ill, else 0
};

/// Rectal temperature of a sow [degC], 12 h before farrowing to weaning (Stiehler et al. 2015; Gourdine et al. 2007).
/// By itself it should not trigger treatment.
class RectalTemperature {
 public:
  explicit RectalTemperature(const Coefficients& coefficients);
  double operator()(const RectalTemperatureInputs& sow) const;
  /// Rise above late gestation [K]; after the last knot it falls back to nothing (Gourdine et al. 2007).
  double rise_k(double since_farrowing_h) const;
  /// A reading above this is an alarm.
  double alarm_deg_c() const { return alarm_deg_c_; }
  /// When the check is due, from the last birth [h].
  double check_at_h() const { return check_at_h_; }

 private:
  KnotCurve time_course_;
  double falls_from_h_, late_fall_k_per_d_;
  double base_deg_c_, clock_amplitude_k_, clock_peak_h_, sow_sd_k_, measurement_sd_k_, first_parity_k_;
  double per_room_k_, room_from_deg_c_, per_severity_k_, alarm_deg_c_, check_at_h_;
};

}  // namespace farrowtide
