#include "libsim/model/sow/water.hpp"

#include <algorithm>
#include <cmath>

namespace farrowtide {

WaterDemand::WaterDemand(const Coefficients& coefficients)
    : ratio_(coefficients.number("sow.water.demand.ratio_at_reference", "L/kg")),
      slope_(coefficients.number("sow.water.demand.temperature_slope", "1/K")),
      reference_deg_c_(coefficients.number("sow.water.demand.reference_temperature", "degC")),
      least_pre_farrow_l_(coefficients.number("sow.water.demand.pre_farrow", "L/d")),
      least_l_(coefficients.number("sow.water.demand.floor_farrowing_day", "L/d")),
      waste_nipple_l_(coefficients.number("sow.water.demand.waste_nipple_and_bowl", "L/d")),
      waste_wet_dry_l_(coefficients.number("sow.water.demand.waste_wet_dry_feeder", "L/d")) {}

double WaterDemand::operator()(int lactation_day, double eaten_kg, double room_deg_c) const {
  const double warmth = std::exp(slope_ * (room_deg_c - reference_deg_c_));
  const double with_feed_l = ratio_ * warmth * eaten_kg;
  // Heat raises the minimum before farrowing as it does demand (Malmkvist et al. 2012); cold does not lower it.
  return std::max(with_feed_l, lactation_day < 0 ? least_pre_farrow_l_ * std::max(1.0, warmth) : least_l_);
}

double WaterDemand::waste_l_per_day(DrinkerKind kind) const {
  return kind == DrinkerKind::wet_dry_feeder ? waste_wet_dry_l_ : waste_nipple_l_;
}

WaterLimit::WaterLimit(const Coefficients& coefficients)
    : depth_(coefficients.number("sow.water.limit_on_feed.depth", "-")),
      depth_late_(coefficients.number("sow.water.limit_on_feed.depth_late", "-")),
      late_from_day_(coefficients.number("sow.water.limit_on_feed.late_from_day", "d")),
      scale_l_per_min_(coefficients.number("sow.water.limit_on_feed.flow_scale", "L/min")),
      drinking_time_min_(coefficients.number("sow.water.limit_on_feed.drinking_time", "min/d")),
      least_water_l_per_kg_(coefficients.number("sow.water.limit_on_feed.least_water_per_feed", "L/kg")),
      eating_stops_after_h_(coefficients.number("sow.water.limit_on_feed.eating_stops_without_water_after", "h")) {}

double WaterLimit::operator()(double flow_l_per_min, int lactation_day) const {
  const double depth = lactation_day >= late_from_day_ ? depth_late_ : depth_;
  return 1 - depth * std::exp(-flow_l_per_min / scale_l_per_min_);
}

Thirst::Thirst(const Coefficients& coefficients)
    : milk_from_d_(coefficients.number("sow.water.thirst.milk_falls_from", "h") / 24),
      milk_gone_d_(coefficients.number("sow.water.thirst.milk_gone_after", "h") / 24),
      death_from_d_(coefficients.number("sow.water.thirst.death_from", "d")),
      death_per_day2_(coefficients.number("sow.water.thirst.death_slope", "1/d^2")) {}

double Thirst::milk_lost_d(double dry_d) const {
  const double falling_d = std::clamp(dry_d, milk_from_d_, milk_gone_d_) - milk_from_d_;
  return falling_d * falling_d / 2 / (milk_gone_d_ - milk_from_d_) + std::max(0.0, dry_d - milk_gone_d_);
}

double Thirst::death_per_day(double from_dry_d, double to_dry_d) const {
  const double from_d = std::max(0.0, from_dry_d - death_from_d_), to_d = std::max(0.0, to_dry_d - death_from_d_);
  return death_per_day2_ * (to_d * to_d - from_d * from_d) / 2 / (to_dry_d - from_dry_d);
}

LowDrinker::LowDrinker(const Coefficients& coefficients)
    : least_l_per_day_(coefficients.number("sow.water.low_drinker.least_intake", "L/d")),
      milk_multiplier_(coefficients.number("sow.water.low_drinker.milk_multiplier", "-")),
      last_day_(static_cast<int>(coefficients.number("sow.water.low_drinker.last_day", "d"))) {}

}  // namespace farrowtide
