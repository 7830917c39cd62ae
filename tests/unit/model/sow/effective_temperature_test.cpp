#include "libsim/model/sow/effective_temperature.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <numbers>

#include "libsim/model/sow/appetite.hpp"

namespace farrowtide {
namespace {

const Coefficients& built_in() {
  static const Coefficients coefficients = Coefficients::built_in();
  return coefficients;
}

DayClimate constant(double deg_c) { return {.mean_deg_c = deg_c, .half_range_k = 0, .mean_relative_humidity_pct = 50}; }
DayClimate cyclic(double deg_c, double half_range_k) {
  return {.mean_deg_c = deg_c, .half_range_k = half_range_k, .mean_relative_humidity_pct = 50};
}

// Restated, from a separate script.
TEST(EffectiveTemperature, GivesTheOracleValue) {
  const DayClimate today{.mean_deg_c = 29, .half_range_k = 4, .mean_relative_humidity_pct = 70};
  EXPECT_NEAR(EffectiveTemperature{built_in()}.appetite_deg_c(today, 27), 27.71, 1e-12);
}

TEST(EffectiveTemperature, IsTheRoomsInASteadyDryCoolRoom) {
  const EffectiveTemperature effective{built_in()};
  for (double deg_c : {16.0, 20.0, 24.0}) {
    EXPECT_NEAR(effective.appetite_deg_c(constant(deg_c), deg_c), deg_c, 1e-12);
    EXPECT_NEAR(effective.milk_deg_c(constant(deg_c), deg_c), deg_c, 1e-12);
  }
}

TEST(EffectiveTemperature, HumidityCountsOnlyWhenWarmAndNotForMilk) {
  const EffectiveTemperature effective{built_in()};
  DayClimate humid = constant(26);
  humid.mean_relative_humidity_pct = 90;
  EXPECT_NEAR(effective.appetite_deg_c(humid, 26) - 26, 0.055 * 30, 1e-12);
  EXPECT_NEAR(effective.milk_deg_c(humid, 26), 26, 1e-12);
  humid.mean_deg_c = 20;
  EXPECT_NEAR(effective.appetite_deg_c(humid, 20), 20, 1e-12);
}

TEST(EffectiveTemperature, CoolingActsOnlyInAWarmRoom) {
  const EffectiveTemperature effective{built_in()};
  for (auto cooling : {SowCooling::floor_pad, SowCooling::snout_air, SowCooling::drip, SowCooling::chilled_water}) {
    EXPECT_LT(effective.appetite_deg_c(constant(28), 28, cooling), 28);
    EXPECT_LT(effective.milk_deg_c(constant(28), 28, cooling), 28);
    EXPECT_EQ(effective.cooling_credit_k(cooling, 22), 0);
  }
  EXPECT_EQ(effective.cooling_credit_k(SowCooling::none, 30), 0);
}

// By hand: 0.26 K for each K of half the day's range, from nothing at a mean of 25 degC to all of it 4 K above.
TEST(EffectiveTemperature, CoolNightsCountMoreTheHotterTheDay) {
  const EffectiveTemperature effective{built_in()};
  const auto relief_k = [&](double mean_deg_c) {
    return mean_deg_c - effective.appetite_deg_c(cyclic(mean_deg_c, 5), mean_deg_c);
  };
  EXPECT_NEAR(relief_k(25), 0, 1e-12);
  EXPECT_NEAR(relief_k(26), 0.26 * 5 / 4, 1e-12);
  EXPECT_NEAR(relief_k(27), 0.26 * 5 / 2, 1e-12);
  EXPECT_NEAR(relief_k(29), 0.26 * 5, 1e-12);
  EXPECT_NEAR(relief_k(33), 0.26 * 5, 1e-12);
}

double appetite_ratio(const DayClimate& one, const DayClimate& other) {
  const EffectiveTemperature effective{built_in()};
  const TemperatureEffect effect{built_in()};
  return effect(effective.appetite_deg_c(one, one.mean_deg_c), 3) /
         effect(effective.appetite_deg_c(other, other.mean_deg_c), 3);
}

// Quiniou et al. 2000: 25-33 against constant 29 degC 1.30 (+-.12); 21-29 against 25 degC 1.00 (+-.04). Fitted.
TEST(EffectiveTemperature, CoolNightsRescueAppetiteOnlyInTheHeat) {
  EXPECT_NEAR(appetite_ratio(cyclic(29, 4), constant(29)), 1.30, 0.12);
  EXPECT_NEAR(appetite_ratio(cyclic(25, 4), constant(25)), 1.00, 0.04);
}

// Silva et al. 2009: the fall of intake from 25 to 27 degC is 2.3 times as steep at RH 94 % as dry (+-0.8). Fitted.
TEST(EffectiveTemperature, HumidAirSteepensTheFall) {
  const EffectiveTemperature effective{built_in()};
  const TemperatureEffect effect{built_in()};
  const auto fall = [&](double humidity_pct) {
    DayClimate cool = constant(25), warm = constant(27);
    cool.mean_relative_humidity_pct = warm.mean_relative_humidity_pct = humidity_pct;
    return effect(effective.appetite_deg_c(cool, 25), 3) - effect(effective.appetite_deg_c(warm, 27), 3);
  };
  EXPECT_NEAR(fall(94) / fall(55), 2.3, 0.8);
}

// Silva et al. 2006; Wagenberg et al. 2006: a cooled floor gives 12 to 18 % more intake in warm rooms. Fitted.
TEST(EffectiveTemperature, CooledFloorGivesThePublishedIntake) {
  const EffectiveTemperature effective{built_in()};
  const TemperatureEffect effect{built_in()};
  const double cooled = effective.appetite_deg_c(constant(27), 27, SowCooling::floor_pad);
  EXPECT_GE(effect(cooled, 3) / effect(27, 3), 1.12);
  EXPECT_LE(effect(cooled, 3) / effect(27, 3), 1.18);
}

TEST(DayClimate, SummarisesTwentyFourHours) {
  std::array<double, 24> deg_c{}, humidity_pct{};
  for (int hour = 0; hour < 24; ++hour) {
    deg_c[hour] = 25 + 4 * std::cos(2 * std::numbers::pi * hour / 24);
    humidity_pct[hour] = hour < 12 ? 40 : 60;
  }
  const DayClimate day = DayClimate::of(deg_c, humidity_pct);
  EXPECT_NEAR(day.mean_deg_c, 25, 1e-12);
  EXPECT_NEAR(day.half_range_k, 4, 1e-12);
  EXPECT_NEAR(day.mean_relative_humidity_pct, 50, 1e-12);
}

}  // namespace
}  // namespace farrowtide
