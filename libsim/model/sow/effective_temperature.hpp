#pragma once

#include <span>

#include "libsim/kernel/names.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Daily summary of the hourly climate a sow experiences.
struct DayClimate {
  double mean_deg_c = 20;
  double half_range_k = 0;  ///< half the difference between the warmest and the coolest hour
  double mean_relative_humidity_pct = 60;

  static DayClimate of(std::span<const double, 24> temperature_deg_c,
                       std::span<const double, 24> relative_humidity_pct);
};

/// Equipment that cools the sow rather than the room.
enum class SowCooling { none, floor_pad, snout_air, drip, chilled_water };
constexpr auto names(SowCooling) {
  return std::to_array<Name<SowCooling>>({{SowCooling::none, "none"},
                                          {SowCooling::floor_pad, "floor_pad"},
                                          {SowCooling::snout_air, "snout_air"},
                                          {SowCooling::drip, "drip"},
                                          {SowCooling::chilled_water, "chilled_water"}});
}

/// Effective temperatures that determine a sow's appetite (Te) and milk yield (Tm).
/// Equation:
///   two_days [degC] = today_weight * T + (1 - today_weight) * T_before
///   humid [K] = humidity_slope * max(0, RH - humidity_from) if T > humidity_above_temperature, else 0
///   hot [-] = clip((T - cycle_from_mean_temperature) / cycle_span, 0, 1)
///   cooling [K] = 'by equipment' cooling_floor_pad, cooling_snout_air, cooling_drip or cooling_chilled_water
///     if T > cooling_above_temperature, else 0
///   Te [degC] = two_days + humid - cycle_credit * A * hot - cooling
///   Tm [degC] = two_days - cooling
/// Where: T [degC] daily mean; T_before [degC] mean of the previous day; RH [%] mean relative humidity; A [K] half the
///   range of the hourly temperatures
/// Valid: 16-32 degC
/// Source: Quiniou et al. 2000; Silva et al. 2006 and 2009; two-day weighting assumed
class EffectiveTemperature {
 public:
  explicit EffectiveTemperature(const Coefficients& coefficients);
  /// Te: two-day mean, plus humidity when warm, less relief from a cool night when hot, less sow cooling.
  double appetite_deg_c(const DayClimate& today, double yesterday_mean_deg_c,
                        SowCooling cooling = SowCooling::none) const;
  /// Tm: two-day mean less sow cooling.
  double milk_deg_c(const DayClimate& today, double yesterday_mean_deg_c, SowCooling cooling = SowCooling::none) const;
  /// Equivalent temperature reduction [K] from the equipment at a daily mean temperature; 0 when the room is not warm.
  double cooling_credit_k(SowCooling cooling, double mean_deg_c) const;

 private:
  double two_day_mean_deg_c(const DayClimate& today, double yesterday_mean_deg_c) const;
  double today_weight_, humidity_slope_, humidity_from_pct_, humidity_above_deg_c_;
  double cycle_credit_, cycle_from_deg_c_, cycle_span_k_;
  double cooling_above_deg_c_, floor_pad_k_, snout_air_k_, drip_k_, chilled_water_k_;
};

}  // namespace farrowtide
