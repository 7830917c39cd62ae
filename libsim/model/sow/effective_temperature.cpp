#include "libsim/model/sow/effective_temperature.hpp"

#include <algorithm>
#include <numeric>

namespace farrowtide {
namespace {

double mean_of(std::span<const double, 24> hours) { return std::accumulate(hours.begin(), hours.end(), 0.0) / 24; }

}  // namespace

DayClimate DayClimate::of(std::span<const double, 24> temperature_deg_c,
                          std::span<const double, 24> relative_humidity_pct) {
  const auto [coolest, warmest] = std::minmax_element(temperature_deg_c.begin(), temperature_deg_c.end());
  return {.mean_deg_c = mean_of(temperature_deg_c),
          .half_range_k = (*warmest - *coolest) / 2,
          .mean_relative_humidity_pct = mean_of(relative_humidity_pct)};
}

EffectiveTemperature::EffectiveTemperature(const Coefficients& coefficients)
    : today_weight_(coefficients.number("sow.effective_temperature.today_weight", "-")),
      humidity_slope_(coefficients.number("sow.effective_temperature.humidity_slope", "K/%")),
      humidity_from_pct_(coefficients.number("sow.effective_temperature.humidity_from", "%")),
      humidity_above_deg_c_(coefficients.number("sow.effective_temperature.humidity_above_temperature", "degC")),
      cycle_credit_(coefficients.number("sow.effective_temperature.cycle_credit", "-")),
      cycle_from_deg_c_(coefficients.number("sow.effective_temperature.cycle_from_mean_temperature", "degC")),
      cycle_span_k_(coefficients.number("sow.effective_temperature.cycle_span", "K")),
      cooling_above_deg_c_(coefficients.number("sow.effective_temperature.cooling_above_temperature", "degC")),
      floor_pad_k_(coefficients.number("sow.effective_temperature.cooling_floor_pad", "K")),
      snout_air_k_(coefficients.number("sow.effective_temperature.cooling_snout_air", "K")),
      drip_k_(coefficients.number("sow.effective_temperature.cooling_drip", "K")),
      chilled_water_k_(coefficients.number("sow.effective_temperature.cooling_chilled_water", "K")) {}

double EffectiveTemperature::cooling_credit_k(SowCooling cooling, double mean_deg_c) const {
  if (mean_deg_c <= cooling_above_deg_c_) return 0;
  switch (cooling) {
    case SowCooling::none:
      return 0;
    case SowCooling::floor_pad:
      return floor_pad_k_;
    case SowCooling::snout_air:
      return snout_air_k_;
    case SowCooling::drip:
      return drip_k_;
    case SowCooling::chilled_water:
      return chilled_water_k_;
  }
  return 0;
}

double EffectiveTemperature::two_day_mean_deg_c(const DayClimate& today, double yesterday_mean_deg_c) const {
  return today_weight_ * today.mean_deg_c + (1 - today_weight_) * yesterday_mean_deg_c;
}

double EffectiveTemperature::appetite_deg_c(const DayClimate& today, double yesterday_mean_deg_c,
                                            SowCooling cooling) const {
  const double excess_humidity_pct = std::max(0.0, today.mean_relative_humidity_pct - humidity_from_pct_);
  const double humid_k = today.mean_deg_c > humidity_above_deg_c_ ? humidity_slope_ * excess_humidity_pct : 0;
  // A cool night brings relief only when the daily mean is hot.
  const double hot = std::clamp((today.mean_deg_c - cycle_from_deg_c_) / cycle_span_k_, 0.0, 1.0);
  return two_day_mean_deg_c(today, yesterday_mean_deg_c) + humid_k - cycle_credit_ * today.half_range_k * hot -
         cooling_credit_k(cooling, today.mean_deg_c);
}

double EffectiveTemperature::milk_deg_c(const DayClimate& today, double yesterday_mean_deg_c,
                                        SowCooling cooling) const {
  return two_day_mean_deg_c(today, yesterday_mean_deg_c) - cooling_credit_k(cooling, today.mean_deg_c);
}

}  // namespace farrowtide
