// Days and seasons of a farm counted by hand, and what does not fit together.
#include "libsim/model/farm_settings.hpp"

#include <gtest/gtest.h>

#include <string>

#include "libsim/scenario/document.hpp"

namespace farrowtide {
namespace {

FarmSettings farm(const std::string& yaml) {
  return read_settings<FarmSettings>(Document::from_text(yaml, "farm.yaml"), Coefficients::built_in());
}

std::string refused(const std::string& yaml) {
  try {
    farm(yaml);
  } catch (const ScenarioError& error) {
    EXPECT_EQ(error.mistakes().size(), 1u);
    return one_line(error.mistakes().front());
  }
  return "";
}

bool says(const std::string& line, const std::string& words) { return line.find(words) != std::string::npos; }

const std::string four_days_before_due = "loading: {days_before_due: 4}\n";
const std::string days_21 = "group: {lactation_days: 21}\n";
const std::string each_21 = "group: {lactation_days: 21, weaning: each_sow}\n";

TEST(FarmSettings, CountDaysOfARoomFromLoading) {
  const FarmSettings together = farm(four_days_before_due + days_21);
  EXPECT_EQ(together.weaning_day(), 25);
  EXPECT_EQ(together.last_day(), 28) << "three days to wash and dry";
  EXPECT_EQ(together.last_day_of_farm(), 28);
  EXPECT_EQ(together.counted().from, Time{});
  EXPECT_EQ(together.counted().until, Time{} + 29_d);
  EXPECT_EQ(farm(four_days_before_due + each_21).last_day(), 25 + 7 + 3) << "a week for those that farrow late";
}

TEST(FarmSettings, KeepTheRoomForADescribedSowThatFarrowsLate) {
  const auto last_day = [](const std::string& herd) { return farm(four_days_before_due + each_21 + herd).last_day(); };
  EXPECT_EQ(last_day("herd: {every_sow: {farrows_on_day: 10}}\n"), 35) << "born by day 11, weaned by day 32";
  EXPECT_EQ(last_day("herd: {every_sow: {farrows_on_day: 11}}\n"), 36);
  EXPECT_EQ(last_day("herd: {sows: [{farrows_on_day: 14}, {farrows_on_day: 13}, {parity: 2}]}\n"), 39);
}

TEST(FarmSettings, CountDaysOfAFarmWithTheGroupsThatFillAndEmptyIt) {
  const FarmSettings weekly =
      farm(four_days_before_due + days_21 + "farm: {groups: 4, group_every: 7, rooms_per_group: 2, rooms: 12}\n");
  EXPECT_EQ(weekly.last_day_of_farm(), (5 + 4 + 5 - 1) * 7 + 28) << "five groups are in the house at a time";
  EXPECT_EQ(weekly.counted().from, Time{} + 35_d);
  EXPECT_EQ(weekly.counted().until, Time{} + 63_d);
  EXPECT_EQ(weekly.crate_turn_days(), 42);
  EXPECT_TRUE(weekly.counted().holds(Time{} + 35_d));
  EXPECT_FALSE(weekly.counted().holds(Time{} + 35_d - 1_s));
  EXPECT_FALSE(weekly.counted().holds(Time{} + 63_d));
}

TEST(FarmSettings, CountSowsByCratesOrAsDescribed) {
  EXPECT_EQ(farm("room: {crates: 5}\n").sows(), 5);
  EXPECT_EQ(farm("room: {crates: 5}\nherd: {sows: [{parity: 1}, {parity: 2}]}\n").sows(), 2);
}

TEST(FarmSettings, CountDaysOfTheYear) {
  const FarmSettings settings = farm("start: 2026-12-31\n");
  EXPECT_EQ(settings.day_of_year(0), 365);
  EXPECT_EQ(settings.day_of_year(1), 1);
  EXPECT_EQ(settings.day_of_year(1 + 31), 32);
  EXPECT_EQ(farm("start: 2024-12-31\n").day_of_year(0), 366);
}

// A quarter of a year, 91.3 days, about day 200 in the north and day 18 in the south.
TEST(FarmSettings, HaveSummerAboutTheWarmestDay) {
  const auto season = [](const FarmSettings& settings, int day_of_year) { return settings.season(day_of_year - 1); };
  const FarmSettings north = farm("start: 2026-01-01\n");
  for (const int day : {155, 200, 245}) EXPECT_EQ(season(north, day), Season::summer) << day;
  for (const int day : {1, 154, 246, 365}) EXPECT_EQ(season(north, day), Season::other) << day;
  FarmSettings south = north;
  south.warmest_day_of_year = 18;
  for (const int day : {1, 18, 63, 338, 365}) EXPECT_EQ(season(south, day), Season::summer) << day;
  for (const int day : {64, 200, 337}) EXPECT_EQ(season(south, day), Season::other) << day;
}

TEST(FarmSettings, RefuseMoreSowsThanCratesAndMovesBetweenSowsThatAreNotThere) {
  EXPECT_EQ(refused("room: {crates: 2}\nherd: {sows: [{parity: 1}, {parity: 2}]}\n"), "");
  EXPECT_TRUE(says(refused("room: {crates: 1}\nherd: {sows: [{parity: 1}, {parity: 2}]}\n"),
                   "describes 2 sows for 1 crates (at most one sow per crate)"));
  const auto move = [](const char* from_to) {
    return refused(std::string("room: {crates: 3}\nmoves: [{day: 8, piglets: 1, ") + from_to + "}]\n");
  };
  EXPECT_EQ(move("from: 3, to: 1"), "");
  EXPECT_TRUE(says(move("from: 4, to: 1"), "sows 1 to 3"));
  EXPECT_TRUE(says(move("from: 1, to: 4"), "sows 1 to 3"));
}

TEST(FarmSettings, RefuseARecordOfTheWeatherThatEndsBeforeWeaning) {
  const auto hours = [](int count, const std::string& more) {
    std::string numbers = "[10", percents = "[60";
    for (int i = 1; i < count; ++i) {
      numbers += ", 10";
      percents += ", 60";
    }
    return refused(four_days_before_due + "group: {lactation_days: 10}\nclimate: {outdoor_hours: " + numbers +
                   "], outdoor_humidity_hours: " + percents + "]}\n" + more);
  };
  EXPECT_EQ(hours(15 * 24, ""), "") << "days 0 to 14";
  EXPECT_TRUE(says(hours(15 * 24 - 1, ""), "has outdoor_hours for 359 hours (at least 360, from loading to weaning)"));
  const std::string two_monthly = "farm: {groups: 2, group_every: 60, rooms: 1}\n";
  EXPECT_TRUE(says(hours(24, two_monthly), "at least " + std::to_string((3 * 60 + 15) * 24)))
      << "of the last of four groups, one before and one after those that count";
}

TEST(FarmSettings, RefuseInductionOfSowsWhoseDayIsGiven) {
  const std::string induced = "induction: {kind: single}\n";
  EXPECT_EQ(refused(induced + "herd: {every_sow: {parity: 2}, sows: [{parity: 1}]}\n"), "");
  EXPECT_TRUE(says(refused(induced + "herd: {every_sow: {farrows_on_day: 5}}\n"), "farrows_on_day"));
  EXPECT_TRUE(says(refused(induced + "herd: {sows: [{parity: 1}, {farrows_on_day: 5}]}\n"), "farrows_on_day"));
}

TEST(FarmSettings, TakeAsManyRoomsAsAreInUseAtATimeAndNoFewer) {
  const auto rooms = [](int count) {
    return refused(four_days_before_due + days_21 +
                   "farm: {groups: 4, rooms_per_group: 2, rooms: " + std::to_string(count) + "}\n");
  };
  EXPECT_EQ(rooms(10), "");
  EXPECT_TRUE(says(rooms(9), "has 9 rooms, but each group occupies 2 for 29 days")) << rooms(9);
}

TEST(FarmSettings, RefuseNightPeopleBesideANightShift) {
  const auto night = [](int people, const char* shift) {
    return refused("attendance: {night_people: " + std::to_string(people) + "}\nstaff: {shifts: [{" + shift + "}]}\n");
  };
  EXPECT_TRUE(says(night(1, "from: \"16:00\", until: \"02:00\""), "night_people: 0"));
  EXPECT_EQ(night(0, "from: \"16:00\", until: \"02:00\""), "");
  EXPECT_EQ(night(1, "from: \"06:00\", until: \"14:00\""), "");
}

}  // namespace
}  // namespace farrowtide
