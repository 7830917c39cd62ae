// Water of one sow, minute by minute: what a clogged drinker costs her, and what a check of it changes. By hand: at
// 20 degC she drinks 4.3 L for each kg of feed, and at most in 240 min a day.
#include "libsim/model/drinking.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include "libsim/model/appetite_of_day.hpp"
#include "tests/unit/model/simulated_farm.hpp"

namespace farrowtide {
namespace {

const std::string sow_that_farrows_on_day_2 =
    "room: {crates: 1, drinker_blockages: off}\nclimate: {kind: imposed, temperature: 20}\n"
    "herd: {health: off, mortality: off, every_sow: {parity: 3, total_born: 12, farrows_on_day: 2}}\n"
    "water: {action_limit: 1.5 L/min}\n";
constexpr Time noon = Time{} + 8_d + 12_h;
constexpr double l_per_day = 4.3 * 6;  // with 6 kg of feed

struct AtNoon : PausedFarm {
  explicit AtNoon(const Values& values = {}, const std::string& more = "")
      : PausedFarm(sow_that_farrows_on_day_2 + more, noon, values) {
    drinker().flow_l_per_min = 2;
  }
  Drinker& drinker() { return sow().water.drinker; }
  void clog(double open_share, Time at) {
    drinker().open_share = open_share;
    drinker().clogged_at = at;
  }
  double drunk_since_yesterday_l() { return water_drunk_since_l(room(), sow(), noon - 1_d, 6); }
  std::vector<Event> mended() const {
    auto found = events();
    std::erase_if(found, [](const Event& event) { return event.what != EventKind::drinker_mended; });
    return found;
  }
};

TEST(Drinking, IsByTheDayWhateverTheTimeLookedAt) {
  AtNoon farm;
  EXPECT_NEAR(farm.drunk_since_yesterday_l(), l_per_day, 1e-9);
  EXPECT_NEAR(water_drunk_since_l(farm.room(), farm.sow(), noon - 6_h, 1.5), l_per_day / 4, 1e-9);
  EXPECT_EQ(water_drunk_since_l(farm.room(), farm.sow(), noon, 1.5), 0);
  EXPECT_EQ(water_drunk_since_l(farm.room(), farm.sow(), noon, 0), 0);
  EXPECT_EQ(water_drunk_since_l(farm.room(), farm.sow(), noon + 1_h, 1.5), 0) << "she may eat only later";
}

TEST(Drinking, EndsWhenTheDrinkerClogs) {
  AtNoon farm;
  farm.clog(0, noon - 6_h);
  EXPECT_NEAR(farm.drunk_since_yesterday_l(), l_per_day * 3 / 4, 1e-9);
  farm.clog(0, noon - 2_d);
  EXPECT_EQ(farm.drunk_since_yesterday_l(), 0) << "before the time looked at";
  farm.clog(0.01, noon - 6_h);
  EXPECT_NEAR(farm.drunk_since_yesterday_l(), l_per_day * 3 / 4 + 0.01 * 2 * 240 / 4, 1e-9) << "a trickle for 6 h";
  farm.clog(0.9, noon - 6_h);
  EXPECT_NEAR(farm.drunk_since_yesterday_l(), l_per_day, 1e-9) << "enough even so";
}

TEST(Drinking, IsLessOfASowThatIsIllOrHasNotLearnedIt) {
  AtNoon farm(
      {{"sow.post_partum_disorder.while_ill.water_multiplier", 0.5}, {"sow.learning.access_until_learned", 0.2}});
  farm.sow().health.fell_ill = noon - 1_d;
  EXPECT_NEAR(farm.drunk_since_yesterday_l(), l_per_day * 0.5, 1e-9);
  farm.sow().health.recovered = noon;
  farm.sow().water.uses_drinker.known = false;
  EXPECT_NEAR(farm.drunk_since_yesterday_l(), l_per_day * 0.2, 1e-9);
  EXPECT_EQ(feed_access(farm.room(), farm.sow()), 0.2) << "a sow that hardly drinks hardly eats";
  farm.sow().water.uses_drinker.known = true;
  farm.sow().water.uses_feeder.known = false;
  EXPECT_EQ(water_access(farm.room(), farm.sow()), 1);
  EXPECT_EQ(feed_access(farm.room(), farm.sow()), 0.2);
  farm.sow().water.uses_feeder.known = true;
  EXPECT_EQ(feed_access(farm.room(), farm.sow()), 1);
}

TEST(Drinking, OfADayIsWhatSheWantsAndWasGivenStandingUpToWhatTheDrinkerGave) {
  AtNoon farm;
  WaterState& water = farm.sow().water;
  water.most_today_l = 100;
  water.drunk_standing_l = 2;
  EXPECT_NEAR(water_drunk_l(farm.room(), farm.sow(), 5, 6), l_per_day + 2, 1e-9);
  water.most_today_l = 20;
  EXPECT_EQ(water_drunk_l(farm.room(), farm.sow(), 5, 6), 20);
}

TEST(Drinking, StopsMealsTwelveHoursAfterTheLastWater) {
  AtNoon farm;
  EXPECT_FALSE(is_parched(farm.room(), farm.sow()));
  farm.clog(0.3, noon - 2_d);
  EXPECT_FALSE(is_parched(farm.room(), farm.sow())) << "a trickle is water";
  EXPECT_EQ(days_without_water(farm.room(), farm.sow()), 0);
  farm.clog(0, noon - 12_h + 1_s);
  EXPECT_FALSE(is_parched(farm.room(), farm.sow()));
  farm.clog(0, noon - 12_h);
  EXPECT_TRUE(is_parched(farm.room(), farm.sow()));
  EXPECT_EQ(days_without_water(farm.room(), farm.sow()), 0.5);
}

// Milk falls from 6 h to 36 h without water: after 12 h, a triangle of 6 h by 6/30 is lost.
TEST(Drinking, NotesWaterAndLostMilkSinceTheLastNote) {
  AtNoon farm;
  WaterState& water = farm.sow().water;
  const auto note_since = [&](Time before) {
    water.noted_at = before;
    water.most_today_l = 1;
    water.milk_lost_d = 0.5;
    note_drinker(farm.room(), farm.sow());
    EXPECT_EQ(water.noted_at, noon);
  };
  note_since(noon - 6_h);
  EXPECT_NEAR(water.most_today_l, 1 + 2 * 240 / 4, 1e-9);
  EXPECT_EQ(water.milk_lost_d, 0.5);
  farm.clog(0, noon - 12_h);
  const double lost_d = 0.25 * 0.2 / 2;
  note_since(noon - 6_h);
  EXPECT_EQ(water.most_today_l, 1) << "nothing more";
  EXPECT_NEAR(water.milk_lost_d, 0.5 + lost_d, 1e-9);
  note_since(noon - 3_h);
  EXPECT_NEAR(water.milk_lost_d, 0.5 + lost_d - 0.125 * 0.1 / 2, 1e-9) << "what was lost by 09:00 was noted then";
}

TEST(DrinkerCheck, LeavesADrinkerThatGivesEnough) {
  AtNoon farm;
  for (const double flow_l_per_min : {2.0, 1.5}) {
    farm.drinker().looked_at = false;
    farm.drinker().flow_l_per_min = flow_l_per_min;
    check_drinker(farm.room(), farm.sow());
    EXPECT_TRUE(farm.drinker().looked_at);
    EXPECT_EQ(farm.drinker().flow_l_per_min, flow_l_per_min);
  }
  EXPECT_TRUE(farm.mended().empty());
}

TEST(DrinkerCheck, BringsAppetiteBackAtOnce) {
  AtNoon farm;
  farm.clog(0.05, noon - 1_h);
  change_appetite(farm.room(), farm.sow());
  const double before_kg = farm.sow().feeding.appetite_kg;
  check_drinker(farm.room(), farm.sow());
  EXPECT_GT(farm.sow().feeding.appetite_kg, 1.02 * before_kg);
}

TEST(DrinkerCheck, TurnsUpAWeakOneAndCleansAClogged) {
  AtNoon farm;
  farm.drinker().flow_l_per_min = 1.4;
  check_drinker(farm.room(), farm.sow());
  EXPECT_EQ(farm.drinker().flow_l_per_min, 1.5);
  ASSERT_EQ(farm.mended().size(), 1u);
  EXPECT_EQ(farm.mended().back().amount, 1.5);
  farm.drinker().flow_l_per_min = 2;
  farm.clog(0.3, noon - 1_h);
  farm.sow().water.noted_at = noon - 1_h;
  farm.sow().water.most_today_l = 0;
  check_drinker(farm.room(), farm.sow());
  EXPECT_EQ(farm.drinker().open_share, 1);
  EXPECT_NEAR(farm.sow().water.most_today_l, 0.3 * 2 * 10, 1e-9) << "what it gave in the hour before: 10 min of flow";
  ASSERT_EQ(farm.mended().size(), 2u);
  EXPECT_EQ(farm.mended().back().amount, 2);
}

// Meals end 12 h after the last water, also where fresh feed is poured before her after that.
TEST(Drinking, OfNothingForTwelveHoursLeavesFreshFeedUntouched) {
  AtNoon farm;  // fed at 07:00 and 15:00
  farm.clog(0, noon - 12_h);
  farm.sow().feeding.pool_kg = 3;
  farm.run_until(noon + 11_h);
  const auto poured_or_eaten = [&](EventKind kind) {
    return std::ranges::count_if(farm.events(), [&](const auto& event) {
      return event.what == kind && event.time_h > noon.since_start().hours();
    });
  };
  EXPECT_EQ(poured_or_eaten(EventKind::feed_delivered), 1);
  EXPECT_EQ(poured_or_eaten(EventKind::meal_eaten), 0);
}

// A dry sow whose drinker is cleaned in the evening eats again at once; one whose drinker stays dry does not.
TEST(DrinkerCheck, LetsAParchedSowEatAgainAtOnce) {
  const auto meals_of_the_evening = [](bool cleaned) {
    AtNoon farm({}, "feeding: {kind: full_access}\n");
    farm.clog(0, noon - 12_h);
    farm.run_until(noon + 6_h);
    if (cleaned) check_drinker(farm.room(), farm.sow());
    farm.run_until(noon + 12_h);
    return std::ranges::count_if(farm.events(), [](const auto& event) {
      return event.what == EventKind::meal_eaten && event.time_h > (noon + 6_h).since_start().hours();
    });
  };
  EXPECT_GT(meals_of_the_evening(true), 0);
  EXPECT_EQ(meals_of_the_evening(false), 0);
}

TEST(DrinkerCheck, OfTheMorningIsNotedSoThatNobodyAsksForASecondOne) {
  PausedFarm farm("room: {crates: 1}\nclimate: {kind: imposed}\nstaff: {shifts: [{people: 2}]}\n", Time{} + 2_d + 12_h);
  EXPECT_EQ(farm.sow().water.drinker_asked_day, 2);
}

TEST(Drinker, ClogsByTheHazardThatReachesItsThresholdFirst) {
  const auto first_flow_share = [](double in_part, double wholly) {
    const SimulatedFarm farm(
        "room: {crates: 6}\nclimate: {kind: imposed, temperature: 20}\nwater: {every: 0}\nherd: {health: off}\n", 0,
        {{"room.drinkers.partial_block_hazard", in_part}, {"room.drinkers.full_block_hazard", wholly}});
    const auto flow = farm.column(farm.tables().sows, "drinker_flow_l_per_min");
    std::vector<double> shares;
    for (const auto& event : farm.events()) {
      if (event.what == EventKind::drinker_clogged)
        shares.push_back(event.amount / flow.at(static_cast<std::size_t>(event.sow - 1)));
    }
    return shares;
  };
  const double trickle = Coefficients::built_in().number("room.drinkers.partial_block_flow_share", "-");
  const auto in_part = first_flow_share(1, 0), wholly = first_flow_share(0, 1);
  ASSERT_EQ(in_part.size(), 6u) << "once each, as nobody cleans them";
  ASSERT_EQ(wholly.size(), 6u);
  for (const double share : in_part) EXPECT_NEAR(share, trickle, 1e-9);
  for (const double share : wholly) EXPECT_EQ(share, 0);
  EXPECT_TRUE(first_flow_share(0, 0).empty());
}

}  // namespace
}  // namespace farrowtide
