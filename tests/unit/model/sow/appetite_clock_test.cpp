#include "libsim/model/sow/appetite_clock.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "libsim/kernel/errors.hpp"
#include "libsim/model/sow/effective_temperature.hpp"

namespace farrowtide {
namespace {

const Coefficients& built_in() {
  static const Coefficients coefficients = Coefficients::built_in();
  return coefficients;
}

std::array<double, 24> constant(double deg_c) {
  std::array<double, 24> hours{};
  hours.fill(deg_c);
  return hours;
}

AppetiteClock clock_at(double deg_c, int parity = 3) {
  const AppetiteClockMaker maker{built_in(), LightHours::standard(built_in())};
  return maker(constant(deg_c), deg_c, parity, TemperatureEffect{built_in()});
}

double light_share(const AppetiteClock& clock) { return clock.share_by(20 * 3600) - clock.share_by(6 * 3600); }

// Restated, from a separate script.
TEST(AppetiteClock, GivesTheOracleHours) {
  const AppetiteClock clock = clock_at(20);
  EXPECT_NEAR(clock.hour_share(12), .036818182, 1e-9);
  EXPECT_NEAR(clock.hour_share(6), .073636364, 1e-9);
  EXPECT_NEAR(clock.hour_share(9), .073636364, 1e-9);
  EXPECT_NEAR(clock.hour_share(10), .036818182, 1e-9);
  EXPECT_NEAR(clock.hour_share(16), .073636364, 1e-9);
  EXPECT_NEAR(clock.hour_share(2), .019, 1e-9);
}

// Quiniou et al. 2000; Renaudeau et al. 2002: .81-.84 of the feed by day at 20 degC, .90 at 29 degC, +-.05 (fitted). By
// weights alone; in a run the night's unmet appetite carries into the day too.
TEST(AppetiteClock, MovesEatingIntoTheLightWithHeat) {
  EXPECT_NEAR(light_share(clock_at(20)), 0.81, 1e-12);
  EXPECT_NEAR(light_share(clock_at(29)), 0.90, 0.05);
  EXPECT_GT(light_share(clock_at(29)), light_share(clock_at(25)));
}

TEST(AppetiteClock, MovesEatingIntoTheCoolHours) {
  const AppetiteClockMaker maker{built_in(), LightHours::standard(built_in())};
  auto hours = constant(25);
  for (int hour = 10; hour < 18; ++hour) hours[hour] = 33;
  const AppetiteClock hot_noon = maker(hours, 27, 3, TemperatureEffect{built_in()});
  EXPECT_LT(hot_noon.hour_share(12), clock_at(25).hour_share(12));
  EXPECT_GT(hot_noon.hour_share(7), clock_at(25).hour_share(7));
}

TEST(AppetiteClock, IsExactAtHourBoundariesAndMidnight) {
  const AppetiteClock clock = clock_at(24);
  EXPECT_EQ(clock.share_by(0), 0);
  EXPECT_EQ(clock.share_by(86400), 1);
  double arrived = 0;
  for (int hour = 0; hour < 24; ++hour) {
    EXPECT_EQ(clock.time_when(clock.share_by(hour * 3600)), hour * 3600) << hour;
    arrived += clock.hour_share(hour);
  }
  EXPECT_NEAR(arrived, 1, 1e-12);
  EXPECT_EQ(clock.time_when(1), 86400);
}

TEST(AppetiteClock, TimeIsTheFirstSecondThatHasTheShare) {
  for (double deg_c : {18.0, 26.0, 31.0}) {
    const AppetiteClock clock = clock_at(deg_c, 1);
    for (int i = 1; i < 5000; ++i) {
      const double share = i / 5000.0;
      const auto second = clock.time_when(share);
      ASSERT_TRUE(second.has_value());
      EXPECT_GE(clock.share_by(*second), share);
      EXPECT_LT(clock.share_by(*second - 1), share);
    }
  }
}

TEST(AppetiteClock, SaysWhenAShareDoesNotArriveToday) {
  const AppetiteClock clock = clock_at(20);
  EXPECT_FALSE(clock.time_when(1.0000001).has_value());
  EXPECT_FALSE(clock.time_when(std::nan("")).has_value());
  EXPECT_EQ(clock.time_when(0), 0);
  EXPECT_EQ(clock.time_when(-0.5), 0);
}

TEST(AppetiteClock, SkipsHoursWithoutAppetite) {
  std::array<double, 24> weights{};
  weights[5] = weights[20] = 1;
  const AppetiteClock clock{weights};
  EXPECT_EQ(clock.time_when(0.5), 6 * 3600);
  EXPECT_EQ(clock.time_when(0.75), 20 * 3600 + 1800);
  EXPECT_EQ(clock.share_by(12 * 3600), 0.5);
}

TEST(AppetiteClock, RefusesImpossibleWeights) {
  std::array<double, 24> weights{};
  EXPECT_THROW(AppetiteClock{weights}, InternalError);
  weights[3] = -1;
  weights[4] = 2;
  EXPECT_THROW(AppetiteClock{weights}, InternalError);
  EXPECT_THROW(clock_at(20).share_by(86401), InternalError);
}

// Gourdine et al. 2006: in the wet tropics .41 of the feed is eaten in the light (restated preset).
TEST(AppetiteClockMaker, TropicalSowsEatByNight) {
  const AppetiteClockMaker maker{built_in(), LightHours::tropical(built_in())};
  const AppetiteClock clock = maker(constant(20), 20, 3, TemperatureEffect{built_in()});
  EXPECT_NEAR(light_share(clock), 0.41, 0.02);
}

TEST(AppetiteClockMaker, TakesAllOfTheFeedInTheLightOrInTheDark) {
  const auto light = [](double share) {
    const AppetiteClockMaker maker{built_in(), {.from_h = 6, .until_h = 20, .light_share = share}};
    return light_share(maker(constant(20), 20, 3, TemperatureEffect{built_in()}));
  };
  EXPECT_NEAR(light(0), 0, 1e-12);
  EXPECT_NEAR(light(1), 1, 1e-12);
  EXPECT_THROW(light(-0.1), UserError);
}

TEST(AppetiteClockMaker, TakesOtherLightHoursAndRefusesNonsense) {
  const AppetiteClockMaker always{built_in(), {.from_h = 0, .until_h = 24, .light_share = 0.81}};
  EXPECT_NEAR(always(constant(20), 20, 3, TemperatureEffect{built_in()}).share_by(86400 / 2), 0.5, 1e-12);
  EXPECT_THROW(AppetiteClockMaker(built_in(), {.from_h = 20, .until_h = 6, .light_share = 0.8}), UserError);
  EXPECT_THROW(AppetiteClockMaker(built_in(), {.from_h = 6.5, .until_h = 20, .light_share = 0.8}), UserError);
  EXPECT_THROW(AppetiteClockMaker(built_in(), {.from_h = 6, .until_h = 20, .light_share = 1.2}), UserError);
}

}  // namespace
}  // namespace farrowtide
