// The appetite of one sow on one day: what lowers it, for how long, and what is left of hunger.
#include "libsim/model/appetite_of_day.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "libsim/model/eating.hpp"
#include "tests/unit/model/simulated_farm.hpp"

namespace farrowtide {
namespace {

constexpr Time noon = Time{} + 8_d + 12_h;

std::string one_sow(int farrows_on_day, const std::string& feeding) {
  return "room: {crates: 1, drinker_blockages: off}\nclimate: {kind: imposed, temperature: 20}\n"
         "herd: {health: off, mortality: off, every_sow: {parity: 3, total_born: 11, farrows_on_day: " +
         std::to_string(farrows_on_day) + "}}\n" + feeding;
}

struct Fed : PausedFarm {
  explicit Fed(const Values& values = {}, Time at = noon, int farrows_on_day = 2, const std::string& feeding = "")
      : PausedFarm(one_sow(farrows_on_day, feeding), at, values) {}
  FeedingState& feeding() { return sow().feeding; }
  // Her appetite of today once a change of hers is known.
  double appetite_kg() {
    change_appetite(room(), sow());
    return feeding().appetite_kg;
  }
};

TEST(AppetiteOfDay, FallsWithIllnessLamenessAndAWeakDrinker) {
  Fed farm({{"sow.legs.appetite_multiplier", 0.9}, {"sow.learning.access_until_learned", 0.3}});
  const double usual_kg = farm.appetite_kg();
  farm.sow().health.fell_ill = noon - 1_d;
  farm.sow().health.severity = 0.5;
  EXPECT_NEAR(farm.appetite_kg() / usual_kg, farm.biology().while_ill.appetite_multiplier(0.5), 1e-9);
  EXPECT_LT(farm.appetite_kg(), 0.9 * usual_kg);
  farm.sow().health.recovered = noon;
  EXPECT_NEAR(farm.appetite_kg(), usual_kg, 1e-9);
  farm.sow().water.uses_feeder.known = false;
  EXPECT_NEAR(farm.appetite_kg() / usual_kg, 0.3, 1e-9);
  farm.sow().water.uses_feeder.known = true;
  Drinker& drinker = farm.sow().water.drinker;
  const auto limit = [&](double flow_l_per_min) {
    return farm.biology().water_limit(flow_l_per_min, farm.sow().lactation_day(8));
  };
  const double before = limit(drinker.flow_l_per_min);
  drinker.flow_l_per_min = 0.2;
  drinker.open_share = 0.5;
  EXPECT_NEAR(farm.appetite_kg() / usual_kg, limit(0.1) / before, 1e-9);
  drinker.open_share = 0;
  EXPECT_NEAR(farm.appetite_kg() / usual_kg, limit(0) / before, 1e-9);
}

// By hand: 0.05 L/min open to a half, for 240 min a day, is 6 L, and a kg of feed takes 2 L.
TEST(AppetiteOfDay, IsNoMoreThanATrickleOfWaterAllows) {
  const auto trickle_kg = [](const Values& values, Time at, int farrows_on_day, const std::string& feeding) {
    Fed farm(values, at, farrows_on_day, feeding);
    Drinker& drinker = farm.sow().water.drinker;
    drinker.flow_l_per_min = 0.05;
    drinker.open_share = 0.5;
    return farm.appetite_kg();
  };
  EXPECT_NEAR(trickle_kg({}, noon, 2, ""), 3, 1e-9);
  EXPECT_GT(trickle_kg({{"sow.water.limit_on_feed.least_water_per_feed", 1e-6}}, noon, 2, ""), 4) << "switched off";
  EXPECT_GT(trickle_kg({}, noon, 2, "feeding: {kind: full_access, wet: true}\n"), 4) << "water comes with the feed";
  EXPECT_NEAR(trickle_kg({{"sow.water.limit_on_feed.least_water_per_feed", 6}}, Time{} + 8_d, 12, ""), 1, 1e-9)
      << "before she farrows";
}

TEST(AppetiteOfDay, OfASowOnATrickleTakesNoHungerOverMidnight) {
  Fed farm;
  farm.sow().water.drinker.flow_l_per_min = 0.025;
  farm.feeding().pool_kg = 2;
  set_appetite(farm.room(), farm.sow());
  EXPECT_NEAR(farm.feeding().appetite_kg, 3, 1e-9);
  EXPECT_EQ(farm.feeding().pool_kg, 0);
}

TEST(AppetiteOfDay, OfALameSowIsBackWhenHerLegsHaveRecovered) {
  PausedFarm farm(
      "room: {crates: 1, drinker_blockages: off}\nclimate: {kind: imposed, temperature: 20}\n"
      "herd: {every_sow: {parity: 3, total_born: 11, farrows_on_day: 2}}\ncare: {checks: []}\n",
      noon,
      {{"sow.legs.prevalence", 1},
       {"sow.legs.appetite_multiplier", 0.8},
       {"sow.post_partum_disorder.risk.intercept", -30}});
  ASSERT_TRUE(farm.sow().lame());
  change_appetite(farm.room(), farm.sow());
  const double lame_kg = farm.sow().feeding.appetite_kg;
  farm.sow().health.legs_recovered = true;
  change_appetite(farm.room(), farm.sow());
  EXPECT_NEAR(lame_kg / farm.sow().feeding.appetite_kg, 0.8, 1e-9);
}

// Before farrowing it is that of full access, and less from the day before farrowing on.
TEST(AppetiteOfDay, BeforeFarrowingFallsOnTheDayBefore) {
  const auto appetite_kg = [](int farrows_on_day) {
    Fed farm({}, Time{} + 8_d, farrows_on_day);
    EXPECT_FALSE(farm.sow().farrowed.reached());
    farm.sow().water.drinker.flow_l_per_min = 100;
    return farm.appetite_kg();
  };
  const auto number = [](const char* path) { return Coefficients::built_in().number(path, "kg/d"); };
  const double full_kg = number("sow.pre_farrow.appetite_full_access"),
               before_kg = number("sow.pre_farrow.appetite_day_before_farrowing");
  ASSERT_LT(before_kg, full_kg);
  EXPECT_NEAR(appetite_kg(10), full_kg, 1e-9);
  EXPECT_NEAR(appetite_kg(9), before_kg, 1e-9);
  EXPECT_NEAR(appetite_kg(8), before_kg, 1e-9) << "on the day of farrowing, before the first birth";
}

TEST(AppetiteOfDay, VariesFromDayToDay) {
  Fed farm;
  farm.feeding().appetite_noise = 0;
  const double usual_kg = farm.appetite_kg();
  farm.feeding().appetite_noise = 1;
  EXPECT_GT(farm.appetite_kg(), usual_kg);
  farm.feeding().appetite_noise = -1;
  EXPECT_LT(farm.appetite_kg(), usual_kg);
}

// Much feed before farrowing costs a fat sow appetite in the first days.
TEST(AppetiteOfDay, IsLessOfAFatSowThatAteMuchBeforeFarrowing) {
  const auto appetite_kg = [](double before_farrowing_kg, double backfat_mm) {
    Fed farm({}, Time{} + 4_d + 12_h);
    farm.feeding().before_farrowing_kg_per_day = before_farrowing_kg;
    farm.sow().body.backfat_at_farrowing_mm = backfat_mm;
    return farm.appetite_kg();
  };
  EXPECT_LT(appetite_kg(7, 28), 0.99 * appetite_kg(2, 28));
  EXPECT_LT(appetite_kg(7, 28), 0.99 * appetite_kg(7, 10));
}

TEST(AppetiteOfDay, StartsAnewAtTheLastBirthAndKeepsHungerOtherwise) {
  Fed farm;
  farm.feeding().pool_kg = 0.7;
  set_appetite(farm.room(), farm.sow());
  EXPECT_EQ(farm.feeding().pool_kg, 0.7) << "a day of lactation";
  farm.sow().day_0 = 8;
  farm.feeding().pool_at = noon - 3_h;
  set_appetite(farm.room(), farm.sow());
  EXPECT_EQ(farm.feeding().pool_kg, 0) << "the day of the last birth";
  EXPECT_EQ(farm.feeding().pool_at, noon);
}

TEST(AppetiteOfDay, TakesHungerNoHigherThanTheMostThatASowEatsInADay) {
  Fed farm;
  const double most_kg = farm.biology().appetite.most_kg(farm.sow().body.weight_kg);
  farm.feeding().pool_kg = 100;
  set_appetite(farm.room(), farm.sow());
  EXPECT_NEAR(farm.feeding().pool_kg + farm.feeding().appetite_kg, most_kg, 1e-9);
  EXPECT_GT(farm.feeding().pool_kg, 0);
}

TEST(AppetiteOfDay, IsAsUsualWhateverHappenedToHer) {
  Fed farm;
  const int today = farm.sow().lactation_day(8);
  const double usual_kg = usual_appetite_kg(farm.room(), farm.sow(), today);
  farm.sow().health.fell_ill = noon - 1_d;
  farm.sow().health.severity = 1;
  farm.sow().water.uses_drinker.known = false;
  farm.sow().handling.disturbance = 0.5;
  farm.feeding().appetite_noise = -3;
  EXPECT_EQ(usual_appetite_kg(farm.room(), farm.sow(), today), usual_kg);
  EXPECT_LT(farm.appetite_kg(), 0.5 * usual_kg);
  EXPECT_LT(usual_appetite_kg(farm.room(), farm.sow(), 1), usual_kg) << "appetite rises in the first week";
}

TEST(Disturbance, LowersAppetiteUntilSheHasCalmedDown) {
  Fed farm({{"sow.appetite.handling.drop", 0.2}});
  const double usual_kg = farm.appetite_kg();
  disturb(farm.room(), farm.sow(), 1);
  const auto events = farm.events();
  const auto told =
      std::ranges::find(events.rbegin(), events.rend(), EventKind::litter_disturbed, &PausedFarm::Event::what);
  ASSERT_NE(told, events.rend());
  const Duration length = farm.sow().handling.calm_at - noon;
  EXPECT_EQ(told->amount, length.hours());
  EXPECT_GE(length.hours(), Coefficients::built_in().number("sow.appetite.handling.least_duration", "h"));
  EXPECT_LE(length.hours(), Coefficients::built_in().number("sow.appetite.handling.most_duration", "h"));
  EXPECT_NEAR(farm.feeding().appetite_kg, 0.8 * usual_kg, 1e-9);
  disturb(farm.room(), farm.sow(), 10);
  EXPECT_EQ(farm.feeding().appetite_kg, 0) << "ten times a fifth is all of it";
}

TEST(Disturbance, EndsWithTheLaterOfTwo) {
  Fed farm({{"sow.appetite.handling.drop", 0.2},
            {"sow.appetite.handling.least_duration", 2},
            {"sow.appetite.handling.most_duration", 2}});
  disturb(farm.room(), farm.sow(), 1);
  farm.run_until(noon + 1_h);
  disturb(farm.room(), farm.sow(), 1);
  EXPECT_NEAR(farm.sow().handling.disturbance, farm.biology().handling.together(0.2, 0.2), 1e-12);
  farm.run_until(noon + 3_h - 1_s);
  EXPECT_GT(farm.sow().handling.disturbance, 0.2) << "the first one has ended, the second has not";
  farm.run_until(noon + 3_h);
  EXPECT_EQ(farm.sow().handling.disturbance, 0);
  const double afterwards_kg = farm.feeding().appetite_kg;
  EXPECT_NEAR(farm.appetite_kg(), afterwards_kg, 1e-9) << "and her appetite is back at once";
}

TEST(HeatMemory, IsThatOfTheDayInWhichSheLives) {
  Fed farm;
  farm.feeding().heat_memory = 0.5;
  farm.feeding().effective_temperature_deg_c = 20;
  remember_heat(farm.room(), farm.sow());
  const double cooled = farm.feeding().heat_memory;
  EXPECT_LT(cooled, 0.5);
  farm.feeding().heat_memory = 0.5;
  farm.feeding().effective_temperature_deg_c = 38;
  remember_heat(farm.room(), farm.sow());
  EXPECT_GT(farm.feeding().heat_memory, cooled);
}

// Hunger grows with the share of the day's appetite that has come since it was last noted.
TEST(Hunger, GrowsByTheClockOfTheDay) {
  Fed farm;
  FeedingState& feeding = farm.feeding();
  const auto share = [&](int hour) { return feeding.clock_of_day.share_by(hour * 3600); };
  feeding.pool_kg = -5;  // so far below a meal that nothing is forgotten
  feeding.pool_at = noon - 3_h;
  EXPECT_NEAR(hunger_kg(farm.room(), farm.sow()), -5 + feeding.appetite_kg * (share(12) - share(9)), 1e-9);
  feeding.pool_at = noon - 1_d;
  EXPECT_NEAR(hunger_kg(farm.room(), farm.sow()), -5 + feeding.appetite_kg * share(12), 1e-9) << "from midnight on";
  change_appetite(farm.room(), farm.sow());
  EXPECT_EQ(feeding.pool_at, noon);
  EXPECT_NEAR(feeding.pool_kg, -5 + feeding.appetite_kg * share(12), 1e-9);
}

TEST(Hunger, OfTheDayIsCarriedOverMidnight) {
  const Time midnight = Time{} + 9_d;
  Fed farm({}, midnight - 1_s);
  FeedingState& feeding = farm.feeding();
  feeding.pool_kg = -5;
  feeding.pool_at = midnight - 3_h;
  const double evening_kg = feeding.appetite_kg * (1 - feeding.clock_of_day.share_by(21 * 3600));
  farm.run_until(midnight);
  EXPECT_NEAR(feeding.pool_kg, -5 + evening_kg, 1e-9);
  EXPECT_EQ(feeding.pool_at, midnight);
}

TEST(Hunger, IsLessByWhatAMealHasBroughtHer) {
  Fed farm;
  farm.feeding().pool_kg = 2;
  farm.feeding().pool_at = noon;
  farm.feeding().trough.deliver(noon, 5000, FeedForm::dry, 20);
  farm.sow().feed_arrived.fire();
  farm.run_until(noon);
  const auto events = farm.events();
  const auto meal = std::ranges::find(events.rbegin(), events.rend(), EventKind::meal_eaten, &PausedFarm::Event::what);
  ASSERT_NE(meal, events.rend());
  ASSERT_EQ(meal->time_h, noon.since_start().hours());
  EXPECT_GT(meal->amount, 0.1);
  EXPECT_NEAR(farm.feeding().pool_kg, 2 - meal->amount, 1e-12);
}

TEST(PendingMeal, IsDrawnAnewForEachMealAndFollowsAppetite) {
  Fed farm({{"sow.meals.pool.threshold_sd", 0}});
  const double meal_kg = pending_meal_kg(farm.room(), farm.sow());
  EXPECT_NEAR(meal_kg, farm.biology().meals.usual_threshold_kg(farm.feeding().appetite_kg), 1e-12);
  farm.feeding().appetite_kg = 2;
  EXPECT_NEAR(pending_meal_kg(farm.room(), farm.sow()), farm.biology().meals.usual_threshold_kg(2), 1e-12);
  EXPECT_NE(farm.biology().meals.usual_threshold_kg(2), meal_kg);
  Fed spread({{"sow.meals.pool.threshold_sd", 0.3}});
  const double this_one_kg = pending_meal_kg(spread.room(), spread.sow());
  EXPECT_EQ(pending_meal_kg(spread.room(), spread.sow()), this_one_kg) << "until she eats";
  ++spread.feeding().meals;
  EXPECT_NE(pending_meal_kg(spread.room(), spread.sow()), this_one_kg);
}

}  // namespace
}  // namespace farrowtide
