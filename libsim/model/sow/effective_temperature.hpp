#pragma once

#include <span>

#include "libsim/kernel/names.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// What one day's 24 hours come to for a sow.
struct DayClimate {
  double mean_deg_c = 20;
  double half_range_k = 0;  ///< half of warmest less coolest hour
  double mean_relative_humidity_pct = 60;

  static DayClimate of(std::span<const double, 24> temperature_deg_c,
                       std::span<const double, 24> relative_humidity_pct);
};

/// Equipment that cools the sow and not the room.
enum class SowCooling { none, floor_pad, snout_air, drip, chilled_water };
constexpr auto names(SowCooling) {
  return std::to_array<Name<SowCooling>>({{SowCooling::none, "none"},
                                          {SowCooling::floor_pad, "floor_pad"},
                                          {SowCooling::snout_air, "snout_air"},
                                          {SowCooling::drip, "drip"},
                                          {SowCooling::chilled_water, "chilled_water"}});
}

/// The temperature a sow's appetite answers to (Te) and the one her milk answers to (Tm).
/// Equation:
///   two_days [degC] = today_weight * T + (1 - today_weight) * T_before
///   humid [K] = humidity_slope * max(0, RH - humidity_from) if T > humidity_above_temperature, else 0
///   hot [-] = clip((T - cycle_from_mean_temperature) / cycle_span, 0, 1)
///   cooling [K] = 'by equipment' cooling_floor_pad, cooling_snout_air, cooling_drip or cooling_chilled_water
///     if T > cooling_above_temperature, else 0
///   Te [degC] = two_days + humid - cycle_credit * A * hot - cooling
///   Tm [degC] = two_days - cooling
/// Where: T [degC] mean of the day; T_before [degC] mean of the day before; RH [%] mean humidity; A [K] half the range
///   of the day's hours
/// Valid: 16-32 degC
/// Source: Quiniou et al. 2000; Silva et al. 2006 and 2009; weight of two days assumed
class EffectiveTemperature {
 public:
  explicit EffectiveTemperature(const Coefficients& coefficients);
  /// Te: two days' means, humidity when warm, the relief of a cool night when hot, less sow cooling.
  double appetite_deg_c(const DayClimate& today, double yesterday_mean_deg_c,
                        SowCooling cooling = SowCooling::none) const;
  /// Tm: two days' means less sow cooling.
  double milk_deg_c(const DayClimate& today, double yesterday_mean_deg_c, SowCooling cooling = SowCooling::none) const;
  /// Equivalent fall [K] of the equipment at a day's mean; nothing when the room is not warm.
  double cooling_credit_k(SowCooling cooling, double mean_deg_c) const;

 private:
  double two_day_mean_deg_c(const DayClimate& today, double yesterday_mean_deg_c) const;
  double today_weight_, humidity_slope_, humidity_from_pct_, humidity_above_deg_c_;
  double cycle_credit_, cycle_from_deg_c_, cycle_span_k_;
  double cooling_above_deg_c_, floor_pad_k_, snout_air_k_, drip_k_, chilled_water_k_;
};

}  // namespace farrowtide
