// Rules that every temperature policy keeps, run over the whole catalogue. A policy without cases fails.
#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <optional>

#include "libsim/policy/temperature/temperature.hpp"
#include "tests/contract/policy_family.hpp"

namespace farrowtide {
namespace {

const PolicyFamily<TemperaturePolicy>& family() {
  static const PolicyFamily<TemperaturePolicy> temperature{
      "schedule",
      temperature_catalogue(),
      {
          {"schedule",
           {"{kind: schedule}", "{kind: schedule, farrowing: 74 degF, later: 66 degF, by_day: 10}",
            "{kind: schedule, farrowing: 20, later: 20, from_day: 0, by_day: 1}"}},
          {"night_setback",
           {"{kind: night_setback}",
            "{kind: night_setback, setback: 4 K, setback_from_day: 5, from_hour: 0, until_hour: 5}",
            "{kind: night_setback, farrowing: 16, later: 14, setback: 4 K, setback_from_day: 0}"}},
          {"weather_led",
           {"{kind: weather_led}", "{kind: weather_led, above: 10, per_degree: 2, min: 10}",
            "{kind: weather_led, later: 16, min: 22}"}},
          {"constant", {"{kind: constant}", "{kind: constant, set_point: 18 degC}"}},
      }};
  return temperature;
}

std::shared_ptr<const TemperaturePolicy> policy_of(const std::string& keys) { return family().policy(keys); }

template <class Check>
void for_every_policy(Check check) {
  family().for_every(check);
}

std::vector<TemperatureView> views() {
  std::vector<TemperatureView> all;
  for (int day = -10; day <= 40; ++day) {
    for (int hour = 0; hour < 24; ++hour) {
      for (const std::optional<double> outdoor_deg_c : {std::optional<double>(), {-15.0}, {21.0}, {45.0}})
        all.push_back({.group_day = day, .hour = hour, .outdoor_mean_deg_c = outdoor_deg_c});
    }
  }
  return all;
}

TEST(TemperatureContract, SetPointsAreThoseOfAFarrowingRoom) {
  for_every_policy([](const TemperaturePolicy& policy) {
    for (const TemperatureView& view : views()) {
      EXPECT_GE(policy.set_point_deg_c(view), 10) << "day " << view.group_day;
      EXPECT_LE(policy.set_point_deg_c(view), 32) << "day " << view.group_day;
    }
  });
}

TEST(TemperatureContract, ADeepPitNeverLowersTheSetPoint) {
  for_every_policy([](const TemperaturePolicy& policy) {
    for (const TemperatureView& view : views()) {
      TemperatureView over_pit = view;
      over_pit.deep_pit = true;
      EXPECT_GE(policy.set_point_deg_c(over_pit), policy.set_point_deg_c(view));
    }
  });
}

TEST(TemperatureContract, WarmWeatherNeverRaisesTheSetPoint) {
  for_every_policy([](const TemperaturePolicy& policy) {
    for (const TemperatureView& view : views()) {
      TemperatureView warmer = view;
      warmer.outdoor_mean_deg_c = view.outdoor_mean_deg_c.value_or(20) + 5;
      EXPECT_LE(policy.set_point_deg_c(warmer), policy.set_point_deg_c(view));
    }
  });
}

TEST(TemperatureContract, TheSameViewGetsTheSameSetPointAndASentence) {
  for_every_policy([](const TemperaturePolicy& policy) {
    for (const TemperatureView& view : views()) EXPECT_EQ(policy.set_point_deg_c(view), policy.set_point_deg_c(view));
    EXPECT_GT(policy.describe().size(), 10u);
  });
}

// 75 degF are 23.889 degC, 66 degF 18.889 degC.
TEST(TemperatureContract, SaysTemperaturesToAHundredthOfADegree) {
  EXPECT_EQ(policy_of("{kind: constant, set_point: 75 degF}")->describe(), "23.89 degC throughout");
  EXPECT_EQ(policy_of("{kind: constant, set_point: 18 degC}")->describe(), "18 degC throughout");
  EXPECT_TRUE(policy_of("{kind: schedule, farrowing: 75 degF, later: 66 degF, by_day: 10}")
                  ->describe()
                  .starts_with("23.89 degC at farrowing, 18.89 degC by day 10"));
}

TEST(TemperatureContract, WhatLowersTheRoomComesWithTheCautionOfTheCreep) {
  for (const char* key : {"later", "setback", "per_degree"})
    EXPECT_NE(family().help(key).find("creep stays warm"), std::string::npos) << key;
}

// Common practice, no source: 72-74 degF (22.2-23.3 deg C) at farrowing, 66-68 degF (18.9-20.0) by day 7-10.
TEST(TemperatureSchedule, StandardIsTheTradesCurve) {
  const auto policy = policy_of("{kind: schedule}");
  EXPECT_GE(policy->set_point_deg_c({0, 0, false}), 22.2);
  EXPECT_LE(policy->set_point_deg_c({0, 0, false}), 23.3);
  EXPECT_GE(policy->set_point_deg_c({10, 0, false}), 18.9);
  EXPECT_LE(policy->set_point_deg_c({10, 0, false}), 20.0);
}

TEST(TemperatureSchedule, FallsEvenlyBetweenItsDays) {
  const auto policy = policy_of("{kind: schedule, farrowing: 23, later: 19, from_day: 2, by_day: 6}");
  const std::vector<std::pair<int, double>> curve = {{-3, 23}, {2, 23}, {3, 22}, {4, 21}, {5, 20}, {6, 19}, {20, 19}};
  for (const auto& [day, deg_c] : curve)
    EXPECT_NEAR(policy->set_point_deg_c({day, 0, false}), deg_c, 1e-12) << "day " << day;
}

// Common practice, no source: 74-76 degF (23.3-24.4 deg C) at farrowing over a deep pit.
TEST(TemperatureSchedule, StandardOverADeepPitIsTheTrades) {
  const double deg_c = policy_of("{kind: schedule}")->set_point_deg_c({.deep_pit = true});
  EXPECT_GE(deg_c, 23.3);
  EXPECT_LE(deg_c, 24.4);
}

// What a scenario sets is what runs; only what it leaves to the default is higher over a deep pit.
TEST(TemperatureContract, ADeepPitShiftsDefaultsOnlyAndOfEveryPolicy) {
  const double offset_k = Coefficients::built_in().number("room.pit.deep_pit_set_point_offset", "K");
  const auto shift_k = [](const std::string& keys, int day) {
    const auto policy = policy_of(keys);
    return policy->set_point_deg_c({.group_day = day, .deep_pit = true}) -
           policy->set_point_deg_c({.group_day = day, .deep_pit = false});
  };
  for (const char* kind : {"constant", "schedule", "night_setback", "weather_led"}) {
    EXPECT_NEAR(shift_k("{kind: " + std::string(kind) + "}", 0), offset_k, 1e-12) << kind;
    EXPECT_NEAR(shift_k("{kind: " + std::string(kind) + "}", 20), offset_k, 1e-12) << kind;
  }
  EXPECT_EQ(shift_k("{kind: constant, set_point: 75 degF}", 0), 0);
  EXPECT_EQ(shift_k("{kind: schedule, farrowing: 75 degF}", 0), 0);
  EXPECT_NEAR(shift_k("{kind: schedule, farrowing: 75 degF}", 20), offset_k, 1e-12);
  EXPECT_EQ(shift_k("{kind: schedule, later: 68 degF}", 20), 0);
}

TEST(NightSetback, LowersOnlyNightsOfOlderLitters) {
  const std::string curve = "farrowing: 23, later: 19, from_day: 2, by_day: 6";
  const auto schedule = policy_of("{kind: schedule, " + curve + "}");
  struct Hours {
    const char* keys;
    std::vector<int> nightly;
  };
  const std::vector<Hours> cases = {{"from_hour: 22, until_hour: 3", {0, 1, 2, 22, 23}},
                                    {"from_hour: 1, until_hour: 4", {1, 2, 3}},
                                    {"from_hour: 22, until_hour: 0", {22, 23}}};
  for (const auto& [keys, nightly] : cases) {
    const auto policy =
        policy_of("{kind: night_setback, " + curve + ", setback: 1.5 K, setback_from_day: 9, " + keys + "}");
    for (const TemperatureView& view : views()) {
      const bool lowered = view.group_day >= 9 && std::ranges::find(nightly, view.hour) != nightly.end();
      EXPECT_NEAR(policy->set_point_deg_c(view), schedule->set_point_deg_c(view) - (lowered ? 1.5 : 0), 1e-12)
          << keys << " day " << view.group_day << " hour " << view.hour;
    }
  }
}

TEST(NightSetback, RefusesAnEmptyNightAndAColdRoom) {
  EXPECT_THROW(policy_of("{kind: night_setback, from_hour: 5, until_hour: 5}"), ScenarioError);
  EXPECT_THROW(policy_of("{kind: night_setback, later: 14, setback: 5 K}"), ScenarioError);
}

TEST(WeatherLed, FallsByTheDegreesOutdoorsOnceTheFallHasBegunDownToItsLeast) {
  const auto policy = policy_of(
      "{kind: weather_led, farrowing: 23, later: 19, from_day: 2, by_day: 6, above: 20, per_degree: 0.5, min: 18}");
  struct Row {
    int day;
    std::optional<double> outdoor_deg_c;
    double set_point_deg_c;
    const char* why;
  };
  const std::vector<Row> rows = {
      {4, {}, 21, "weather unknown"},
      {4, 20, 21, "not above"},
      {4, 24, 19, "sooner"},
      {10, 21, 18.5, "deeper"},
      {10, 40, 18, "down to the least"},
      {3, 26, 19, "first day of the fall"},
      {2, 40, 23, "the newborn stay warm"},
      {-3, 40, 23, "not yet farrowed"},
  };
  for (const Row& row : rows)
    EXPECT_NEAR(policy->set_point_deg_c({.group_day = row.day, .outdoor_mean_deg_c = row.outdoor_deg_c}),
                row.set_point_deg_c, 1e-12)
        << row.why;
}

}  // namespace
}  // namespace farrowtide
