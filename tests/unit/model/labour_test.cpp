// Labour of one sow: what is fixed at its onset, and what the last birth settles.
#include "libsim/model/labour.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "tests/unit/model/simulated_farm.hpp"

namespace farrowtide {
namespace {

std::string one_sow(const std::string& sow = "total_born: 12", const std::string& more = "") {
  return "room: {crates: 1, drinker_blockages: off}\nclimate: {kind: imposed, temperature: 20}\n"
         "loading: {days_before_due: 4}\nattendance: {kind: none}\n"
         "herd: {health: off, every_sow: {parity: 3, farrows_on_day: 5, " +
         sow + "}}\n" + more;
}

struct Farrowed : PausedFarm {
  explicit Farrowed(const std::string& yaml = one_sow(), const Values& values = {})
      : PausedFarm(yaml, Time{} + 8_d, values) {}
  Labour& labour() { return sow().labour; }
  Litter& litter() { return sow().litter; }
};

TEST(Onset, FixesWhatTheLitterHasInCommon) {
  PausedFarm farm(one_sow(), Time{});
  const Time onset = farm.sow().traits.onset;
  farm.run_until(onset - 1_s);
  EXPECT_TRUE(farm.sow().litter.piglets.empty());
  EXPECT_FALSE(farm.sow().in_labour(farm.room().now()));
  const std::optional<Time> last_meal = farm.sow().feeding.last_meal;
  const double backfat_mm = farm.sow().body.backfat_mm;
  farm.run_until(onset);
  const Sow& sow = farm.sow();
  ASSERT_TRUE(last_meal);
  EXPECT_EQ(sow.labour.hours_since_last_meal, (onset - *last_meal).hours());
  EXPECT_EQ(sow.litter.piglets.size(), 1u);
  EXPECT_EQ(sow.litter.piglets.front().born, onset);
  EXPECT_FALSE(sow.litter.piglets.front().birth_interval_min);
  EXPECT_FALSE(sow.litter.piglets.front().birth_interval_drawn_min);
  EXPECT_EQ(sow.litter.teats.functional, sow.traits.functional_teats);
  EXPECT_NEAR(sow.labour.log_modifiers,
              farm.biology().birth_interval.log_modifiers({.parity = 3,
                                                           .backfat_mm = backfat_mm,
                                                           .constipation_score = sow.traits.constipation_score,
                                                           .room_deg_c = 20,
                                                           .hours_since_last_meal = sow.labour.hours_since_last_meal}),
              1e-12);
  EXPECT_NEAR(sow.labour.log_modifiers_at_loading,
              farm.biology().birth_interval.log_modifiers({.parity = 3,
                                                           .backfat_mm = sow.traits.backfat_mm,
                                                           .constipation_score = sow.traits.constipation_score,
                                                           .room_deg_c = farm.biology().no_heat_deg_c}),
              1e-12);
  const auto z = [&](Purpose purpose) { return farm.room().draws.normal(purpose, 1); };
  EXPECT_EQ(sow.litter.birth_frailty, farm.biology().frailty.birth(z(Purpose::birth_frailty)));
  EXPECT_EQ(sow.litter.rear_frailty, farm.biology().frailty.rear(z(Purpose::rearing_frailty)));
  EXPECT_EQ(sow.litter.middle_frailty, farm.biology().frailty.phase(z(Purpose::middle_frailty)));
  EXPECT_EQ(sow.litter.late_frailty, farm.biology().frailty.late_phase(z(Purpose::late_frailty)));
  EXPECT_EQ(sow.litter.creep_feed_z, z(Purpose::creep_feed_of_litter));
  EXPECT_EQ(sow.litter.colostrum_z, z(Purpose::colostrum_yield));
  const auto events = farm.events();
  const auto began = std::ranges::find(events, EventKind::labour_began, &PausedFarm::Event::what);
  ASSERT_NE(began, events.end());
  EXPECT_EQ(began->amount, 12);
  EXPECT_EQ(began->detail, *sow.labour.hours_since_last_meal);
}

TEST(Onset, IsSlowerInHeatAndOutOfIt) {
  const auto log_modifiers = [](const std::string& deg_c) {
    Farrowed farm("room: {crates: 1}\nclimate: {kind: imposed, temperature: " + deg_c +
                  "}\nherd: {health: off, every_sow: {parity: 3, farrows_on_day: 5}}\n");
    return std::pair{farm.labour().log_modifiers, farm.labour().log_modifiers_at_loading};
  };
  EXPECT_GT(log_modifiers("32").first, log_modifiers("20").first + 0.01);
  EXPECT_EQ(log_modifiers("32").second, log_modifiers("20").second);
}

TEST(Births, ComeInOrderWithTheirIntervals) {
  Farrowed farm;
  const auto& piglets = farm.litter().piglets;
  ASSERT_EQ(piglets.size(), 12u);
  for (std::size_t i = 1; i < piglets.size(); ++i) {
    EXPECT_EQ(piglets[i].birth_rank, static_cast<int>(i) + 1);
    EXPECT_EQ(piglets[i].birth_interval_min, (piglets[i].born - piglets[i - 1].born).minutes());
    EXPECT_TRUE(piglets[i].birth_interval_drawn_min);
    EXPECT_EQ(piglets[i].dam, &farm.sow());
    EXPECT_FALSE(piglets[i].attended || piglets[i].assisted);
  }
  EXPECT_EQ(farm.labour().last_birth, piglets.back().born);
  EXPECT_EQ(farm.labour().births, 12);
  EXPECT_EQ(farm.litter().born_alive + farm.litter().stillborn, 12);
  const auto dead = std::ranges::count(piglets, PigletFate::stillborn, &Piglet::fate);
  EXPECT_GE(dead, farm.litter().stillborn);
}

TEST(Births, OfALabourThatLastsTooLongAreOfDeadPiglets) {
  Farrowed farm(one_sow("total_born: 16"), {{"sow.farrowing.longest_labour", 1}});
  int late = 0;
  for (const Piglet& piglet : farm.litter().piglets) {
    const double since_first_min = (piglet.born - farm.sow().traits.onset).minutes();
    EXPECT_LE(since_first_min, 60);
    if (since_first_min < 60) continue;
    ++late;
    EXPECT_EQ(piglet.life, Life::dead);
    EXPECT_FALSE(piglet.savable);
  }
  EXPECT_GT(late, 0);
  EXPECT_GE(farm.litter().stillborn, late);
}

TEST(LastBirth, BeginsLactationAndSetsTheDayOfWeaning) {
  Farrowed together(one_sow("total_born: 12", "group: {lactation_days: 21}\n"));
  const Sow& sow = together.sow();
  EXPECT_EQ(sow.day_0, sow.labour.last_birth.day());
  EXPECT_EQ(sow.weaning_day, 4 + 21);
  EXPECT_TRUE(sow.farrowed.reached());
  const auto events = together.events();
  const auto finished = std::ranges::find(events, EventKind::farrowing_finished, &PausedFarm::Event::what);
  ASSERT_NE(finished, events.end());
  EXPECT_EQ(finished->amount, (sow.labour.last_birth - sow.traits.onset).minutes());
  EXPECT_EQ(finished->detail, sow.litter.born_alive);
  Farrowed each(one_sow("total_born: 12", "group: {lactation_days: 21, weaning: each_sow}\n"));
  EXPECT_EQ(each.sow().weaning_day, *each.sow().day_0 + 21);
}

TEST(LastBirth, NotesHerBodyAndTheUsualDemandOfHerMilk) {
  PausedFarm farm(one_sow(), Time{});
  Sow& sow = farm.sow();
  farm.run_until(sow.traits.onset);
  while (!sow.farrowed.reached()) farm.run_until(farm.room().now() + 1_min);
  EXPECT_EQ(sow.body.weight_at_farrowing_kg, sow.body.weight_kg);
  EXPECT_EQ(sow.body.backfat_at_farrowing_mm, sow.body.backfat_mm);
  EXPECT_EQ(sow.body.protein_at_farrowing_kg, sow.body.protein_kg);
  EXPECT_NEAR(sow.body.smoothed_demand_mcal, farm.biology().milk_yield.feed_on_milk().usual_mcal(sow.body.weight_kg),
              1e-12);
  EXPECT_EQ(sow.feeding.pool_kg, 0);
}

// Whole days before the first birth, at most seven; days before loading have the feed of late gestation.
TEST(LastBirth, LooksBackOnAWeekOfFeed) {
  Farrowed farm;
  Sow& sow = farm.sow();
  const int onset_day = static_cast<int>(sow.traits.onset.day());
  ASSERT_EQ(onset_day, 5);
  const double gestation_kg = sow.traits.late_gestation_feed_kg_per_day;
  const auto before_farrowing_kg = [&](std::vector<double> eaten_kg) {
    sow.days.clear();
    for (const double kg : eaten_kg)
      sow.days.push_back({.calendar_day = static_cast<int>(sow.days.size()), .eaten_kg = kg});
    begin_lactation(farm.room(), sow);
    return sow.feeding.before_farrowing_kg_per_day;
  };
  EXPECT_NEAR(before_farrowing_kg({}), gestation_kg, 1e-12);
  EXPECT_NEAR(before_farrowing_kg({9}), gestation_kg, 1e-12) << "the day of loading is a part of a day";
  EXPECT_NEAR(before_farrowing_kg({9, 1, 2, 3, 4}), (1 + 2 + 3 + 4 + 3 * gestation_kg) / 7, 1e-12);
  EXPECT_NEAR(before_farrowing_kg({9, 1, 2, 3, 4, 50}), (1 + 2 + 3 + 4 + 3 * gestation_kg) / 7, 1e-12)
      << "not of the day of the first birth";
}

TEST(LastBirth, LooksBackNoFurtherThanAWeek) {
  PausedFarm farm(
      "room: {crates: 1, drinker_blockages: off}\nclimate: {kind: imposed}\nloading: {days_before_due: 8}\n"
      "herd: {health: off, every_sow: {parity: 3, farrows_on_day: 10}}\n",
      Time{} + 12_d);
  Sow& sow = farm.sow();
  sow.days.clear();
  for (int day = 0; day < 10; ++day) sow.days.push_back({.calendar_day = day, .eaten_kg = day < 3 ? 50.0 : 2.0});
  begin_lactation(farm.room(), sow);
  EXPECT_NEAR(sow.feeding.before_farrowing_kg_per_day, 2, 1e-12) << "days 3 to 9";
}

}  // namespace
}  // namespace farrowtide
