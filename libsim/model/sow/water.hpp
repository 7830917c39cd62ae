#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Type of drinker: a nipple or bowl beside the trough, or a feeder that supplies water with the feed.
enum class DrinkerKind { nipple_or_bowl, wet_dry_feeder };

/// Daily water demand of a sow from feed eaten and room temperature, and water wastage.
/// Equation:
///   warmth [-] = exp(temperature_slope * (T - reference_temperature))
///   least [L/d] = pre_farrow * max(1, warmth) if d < 0, else floor_farrowing_day
///   demand [L/d] = max(ratio_at_reference * warmth * eaten, least)
///   waste [L/d] = waste_nipple_and_bowl 'or' waste_wet_dry_feeder
/// Where: T [degC] mean room temperature that day; d [d] day of lactation, 0 on the day of farrowing; eaten [kg] feed
///   eaten that day
/// Valid: 20-29 degC
/// Source: Renaudeau et al. 2001; minimum demand Fraser & Phillips 1989; wastage Peng et al. 2007
class WaterDemand {
 public:
  explicit WaterDemand(const Coefficients& coefficients);
  /// Day 0 is the day of farrowing. A sow off feed still has the demand of that day, and a higher one before it.
  double operator()(int lactation_day, double eaten_kg, double room_deg_c) const;
  /// Water wasted in addition to what she drinks [L/d] (Peng et al. 2007).
  double waste_l_per_day(DrinkerKind kind) const;

 private:
  double ratio_, slope_, reference_deg_c_, least_pre_farrow_l_, least_l_, waste_nipple_l_, waste_wet_dry_l_;
};

/// Reduction in appetite from a low drinker flow rate.
/// Equation:
///   f [-] = 1 - (depth_late if d >= late_from_day, else depth) * exp(-Q / flow_scale)
///   most_water [L/d] = drinking_time * Q
///   most_feed [kg/d] = most_water / least_water_per_feed
///   eating 'stops' eating_stops_without_water_after 'without water'
/// Where: Q [L/min] drinker flow rate; d [d] day of lactation; eating [-] any feed intake
/// Valid: measured at 0.08 and 0.7 L/min; the shape between and outside these is assumed
/// Source: Leibbrandt et al. 2001; maximum drinking time and minimum water assumed
class WaterLimit {
 public:
  explicit WaterLimit(const Coefficients& coefficients);
  /// Appetite multiplier at a flow rate [L/min].
  double operator()(double flow_l_per_min, int lactation_day) const;
  /// Maximum water intake within the maximum daily drinking time [L/d].
  double most_water_l(double flow_l_per_min) const { return drinking_time_min_ * flow_l_per_min; }
  /// Maximum feed intake with that water [kg/d].
  double most_feed_kg(double flow_l_per_min) const { return most_water_l(flow_l_per_min) / least_water_l_per_kg_; }
  /// Time without water after which she stops eating [h].
  double eating_stops_after_h() const { return eating_stops_after_h_; }

 private:
  double depth_, depth_late_, late_from_day_, scale_l_per_min_;
  double drinking_time_min_, least_water_l_per_kg_, eating_stops_after_h_;
};

/// A sow whose drinker gives no water: her milk falls within a day or two, and she dies within days.
/// Equation:
///   milk [-] = clip((milk_gone_after - h) / (milk_gone_after - milk_falls_from), 0, 1)
///   hazard [1/d] = death_slope * max(0, h / 24 - death_from)
/// Where: h [h] time since the last water; the day's milk is multiplied by the mean of its hours; the hazard
///   is that of death
/// Valid: no water at all; with water again, milk is back and the hazard gone at once (sodium poisoning by drinking
///   after thirst is left out)
/// Source: assumption; times of water deprivation J Swine Health Prod 31:295
class Thirst {
 public:
  explicit Thirst(const Coefficients& coefficients);
  /// Integral of 1 - milk [d] over the first `dry_d` days without water.
  double milk_lost_d(double dry_d) const;
  /// Mean hazard of death [1/d] between two times without water [d], from < to.
  double death_per_day(double from_dry_d, double to_dry_d) const;
  /// Time without water after which she may die [d].
  double death_from_d() const { return death_from_d_; }

 private:
  double milk_from_d_, milk_gone_d_, death_from_d_, death_per_day2_;
};

/// Reduced milk of a sow that drinks little in the first days. The effect on her piglets is in Survival.
/// Equation:
///   low if drunk <= least_intake
///   milk [-] = low_drinker.milk_multiplier if low 'and' d <= last_day, else 1
/// Where: drunk [L/d] mean water intake from day 1 to today, at most to last_day; d [d] day of lactation; low [-] a sow
///   that drinks little
/// Valid: the first days
/// Source: threshold Fraser & Phillips 1989; size of the effect assumed
class LowDrinker {
 public:
  explicit LowDrinker(const Coefficients& coefficients);
  /// Whether this mean over days 0 to last_day() [L/d] is low.
  bool is_low(double mean_l_per_day) const { return mean_l_per_day <= least_l_per_day_; }
  int last_day() const { return last_day_; }
  /// On days 0 to last_day().
  double milk_multiplier() const { return milk_multiplier_; }

 private:
  double least_l_per_day_, milk_multiplier_;
  int last_day_;
};

}  // namespace farrowtide
