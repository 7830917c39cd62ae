// Sows without water, without feed, or in air too hot for them: milk goes first, then the litter, then the sow.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <string>
#include <vector>

#include "libsim/record/kinds.hpp"
#include "tests/unit/model/simulated_farm.hpp"

namespace farrowtide {
namespace {

const std::string chamber = "room: {crates: 12}\nclimate: {kind: imposed, temperature: 20}\n";

int left_as(const SimulatedFarm& room, SowFate fate) {
  const auto fates = room.column(room.tables().sows, "left_as");
  return static_cast<int>(std::ranges::count(fates, static_cast<double>(fate)));
}

double sum(const std::vector<double>& values) { return std::accumulate(values.begin(), values.end(), 0.0); }

std::vector<SimulatedFarm::Event> of_kind(const SimulatedFarm& room, EventKind kind) {
  std::vector<SimulatedFarm::Event> found;
  for (const auto& event : room.events()) {
    if (event.what == kind) found.push_back(event);
  }
  return found;
}

// Drinkers that fail soon and wholly, feed that a machine drops, and people who come on Mondays only.
const std::string unwatched = chamber + "feeding: {kind: drops}\nstaff: {shifts: [{days: [mon]}]}\n";
const std::vector<std::pair<std::string, double>> drinkers_fail = {{"room.drinkers.full_block_hazard", 1.0},
                                                                   {"room.drinkers.partial_block_hazard", 0.0}};

TEST(Thirst, EndsMilkInTwoDaysAndLifeInAWeek) {
  const SimulatedFarm room(unwatched, 0, drinkers_fail);
  const auto clogged = of_kind(room, EventKind::drinker_clogged);
  ASSERT_GE(clogged.size(), 10);
  EXPECT_GE(left_as(room, SowFate::died_of_thirst), 8);
  for (const auto& death : of_kind(room, EventKind::sow_died)) {
    const auto dry = std::ranges::find(clogged, death.sow, &SimulatedFarm::Event::sow);
    if (dry == clogged.end() || static_cast<int>(death.detail) != static_cast<int>(SowFate::died_of_thirst)) continue;
    EXPECT_GT(death.time_h - dry->time_h, 48);
  }
  std::map<int, double> day_0;  // calendar day of the last birth
  for (const auto& event : of_kind(room, EventKind::farrowing_finished))
    day_0[event.sow] = std::floor(event.time_h / 24);
  const auto mended = of_kind(room, EventKind::drinker_mended);
  const auto is_mended = [&](int number) {
    return std::ranges::find(mended, number, &SimulatedFarm::Event::sow) != mended.end();
  };
  const auto& days = room.tables().sow_days;
  const auto sow = room.column(days, "sow"), day = room.column(days, "day"), water_l = room.column(days, "water_l"),
             eaten_kg = room.column(days, "eaten_kg"), milk = room.column(days, "milk_mcal");
  int dry_days = 0;
  for (std::size_t i = 0; i < sow.size(); ++i) {
    const int number = static_cast<int>(sow[i]);
    const auto dry = std::ranges::find(clogged, number, &SimulatedFarm::Event::sow);
    if (dry == clogged.end() || is_mended(number) || !day_0.contains(number)) continue;
    const double midnight_h = (day_0.at(number) + day[i]) * 24;
    if (midnight_h < dry->time_h) continue;
    ++dry_days;  // a whole day without water
    EXPECT_EQ(water_l[i], 0);
    if (midnight_h < dry->time_h + 36) continue;
    EXPECT_EQ(eaten_kg[i], 0);
    EXPECT_TRUE(std::isnan(milk[i]) || milk[i] == 0);
  }
  EXPECT_GT(dry_days, 5);
}

// By hand: 0.05 L/min for 240 min a day are 12 L, and where a kg of feed takes 4 L she eats 3 kg.
TEST(Thirst, OfASowOnATrickleKeepsHerFromEatingMoreThanHerWaterAllows) {
  const SimulatedFarm room(
      "room: {crates: 12, drinker_flow: 0.05 L/min, drinker_flow_cv: 0, drinker_blockages: off}\n"
      "climate: {kind: imposed, temperature: 20}\nfeeding: {kind: full_access}\nwater: {action_limit: 0 L/min}\n",
      0, {{"sow.water.limit_on_feed.least_water_per_feed", 4}});
  const auto& days = room.tables().sow_days;
  const auto eaten_kg = room.column(days, "eaten_kg"), water_l = room.column(days, "water_l");
  ASSERT_GT(eaten_kg.size(), 200);
  EXPECT_LE(*std::ranges::max_element(water_l), 12 + 1e-9);
  EXPECT_LE(*std::ranges::max_element(eaten_kg), 3 + 1e-9);
  EXPECT_GT(*std::ranges::max_element(eaten_kg), 2.9);
}

TEST(Thirst, IsOverWithTheFirstWater) {
  const SimulatedFarm room(chamber, 0, drinkers_fail);
  EXPECT_EQ(left_as(room, SowFate::died_of_thirst), 0);
  EXPECT_GT(of_kind(room, EventKind::drinker_mended).size(), 20);
}

TEST(Hunger, EndsMilkThenTheLitter) {
  const SimulatedFarm room(chamber +
                           "feeding: {kind: hand, allowance: {rule: flat, amount: 0}, pre_farrow: {allowance: 0}}\n");
  const auto weaned = room.column(room.tables().sows, "weaned");
  EXPECT_LT(sum(weaned) / static_cast<double>(weaned.size()), 1) << "piglets a sow";
  const SimulatedFarm mondays(chamber + "staff: {shifts: [{days: [mon]}]}\n");
  EXPECT_LT(sum(mondays.column(mondays.tables().sows, "weaned")), 0.7 * 11 * 12);
}

TEST(Backfat, NeverFallsBelowItsLeast) {
  const std::string thin =
      chamber +
      "herd: {every_sow: {backfat: 8, parity: 1}}\nfeeding: {kind: hand, allowance: {rule: flat, amount: 2}}\n";
  const SimulatedFarm room(thin);
  const auto backfat = room.column(room.tables().sow_days, "backfat_mm");
  EXPECT_GE(*std::ranges::min_element(backfat), 5 - 1e-9);
  EXPECT_LT(*std::ranges::min_element(backfat), 5.5) << "the least binds";
}

TEST(Heat, KillsSowsInAHotWetChamber) {
  const SimulatedFarm room("room: {crates: 12}\nclimate: {kind: imposed, temperature: 40, humidity: 100}\n");
  EXPECT_EQ(left_as(room, SowFate::died_of_heat), 12);
  for (const auto& death : of_kind(room, EventKind::sow_died)) EXPECT_LT(death.time_h, 8 + 5 * 24);
  const SimulatedFarm warm("room: {crates: 12}\nclimate: {kind: imposed, temperature: 33, humidity: 70}\n");
  EXPECT_EQ(left_as(warm, SowFate::died_of_heat), 0);
}

TEST(Labour, EndsAfterTheLongest) {
  const SimulatedFarm room(chamber + "attendance: {kind: none}\n", 0,
                           {{"sow.farrowing.intervals.level", 4.0}, {"sow.farrowing.longest_labour", 15}});
  const auto minutes = room.column(room.tables().sows, "farrowing_duration_min");
  EXPECT_LE(*std::ranges::max_element(minutes), 15 * 60 + 1);
  EXPECT_GT(std::ranges::count_if(minutes, [](double min) { return min > 14.9 * 60; }), 3);
  EXPECT_GT(sum(room.column(room.tables().sows, "stillborn")), 24);
}

TEST(PreFarrowFeed, MakesFatSowsIllNotLeanOnes) {
  const auto ill = [&](const std::string& backfat, const std::string& feeding) {
    int count = 0;
    for (std::uint32_t replicate = 0; replicate < 20; ++replicate) {
      const SimulatedFarm room(
          "room: {crates: 24}\nclimate: {kind: imposed, temperature: 20}\nherd: {every_sow: {backfat: " + backfat +
              "}}\nfeeding: " + feeding,
          replicate);
      const auto onset = room.column(room.tables().sows, "disorder_onset_h");
      count += static_cast<int>(std::ranges::count_if(onset, [](double hour) { return !std::isnan(hour); }));
    }
    return count;
  };
  const std::string hand = "{kind: full_access, from_day: -4, unless_backfat_over: 5}\n",
                    free = "{kind: full_access, from_day: -4}\n";
  const int fat_by_hand = ill("24", hand), fat_free = ill("24", free);
  EXPECT_GT(fat_free, fat_by_hand + 20) << "of 480";
  const int lean_by_hand = ill("13", hand), lean_free = ill("13", free);
  EXPECT_LT(std::abs(lean_free - lean_by_hand), 20);
}

TEST(Weaning, OfEachSowWaitsForASowThatFarrowsLate) {
  const std::string late =
      "room: {crates: 4}\nclimate: {kind: imposed}\nloading: {days_before_due: 2}\n"
      "group: {weaning: each_sow, lactation_days: 17}\n"
      "herd: {health: off, every_sow: {farrows_on_day: 14}}\n";
  for (std::uint32_t replicate = 0; replicate < 10; ++replicate) {
    const SimulatedFarm room(late, replicate);
    for (const double days : room.column(room.tables().sows, "lactation_length_d")) EXPECT_EQ(days, 17);
    EXPECT_EQ(left_as(room, SowFate::weaned), 4);
  }
}

}  // namespace
}  // namespace farrowtide
