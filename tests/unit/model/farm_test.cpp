// Several rooms, one team: groups come and go by the timetable, and what counts is the farm in full use.
#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <set>
#include <string>
#include <utility>

#include "tests/unit/model/simulated_farm.hpp"

namespace farrowtide {
namespace {

constexpr const char* small_farm =
    "farm: {groups: 6, group_every: 14, rooms_per_group: 2, rooms: 6}\n"
    "room: {crates: 4}\n"
    "staff: {shifts: [{people: 2}]}\n";

TEST(Farm, CountsTheGroupsThatComeWhileItsRoomsAreFull) {
  const SimulatedFarm farm(small_farm);
  const auto group = farm.column(farm.tables().sows, "group");
  const std::set<double> groups(group.begin(), group.end());
  const int lead_in = farm.settings().schedule.lead_in_groups(farm.settings().last_day());
  ASSERT_GT(lead_in, 0);
  EXPECT_EQ(groups.size(), 6u);
  EXPECT_EQ(*groups.begin(), lead_in + 1);
  EXPECT_EQ(group.size(), 6u * 2 * 4);
}

TEST(Farm, GivesEverySowANumberOfHerOwn) {
  const SimulatedFarm farm(small_farm);
  const auto sow = farm.column(farm.tables().sows, "sow");
  EXPECT_EQ(std::set<double>(sow.begin(), sow.end()).size(), sow.size());
}

TEST(Farm, FillsARoomOnlyWhenTheGroupBeforeHasLeft) {
  const SimulatedFarm farm(small_farm);
  const auto group = farm.column(farm.tables().room_hours, "group"),
             hour = farm.column(farm.tables().room_hours, "hour");
  std::map<double, std::pair<double, double>> stay;  // first and last hour, by group
  for (std::size_t i = 0; i < group.size(); ++i) {
    auto [found, is_new] = stay.try_emplace(group[i], hour[i], hour[i]);
    if (!is_new) found->second.second = hour[i];
  }
  const int rooms_in_turn = farm.settings().schedule.rooms / farm.settings().schedule.rooms_per_group;
  for (const auto& [number, hours] : stay) {
    const auto next = stay.find(number + rooms_in_turn);
    if (next == stay.end()) continue;
    EXPECT_GT(next->second.first, hours.second) << "groups " << number << " and " << next->first;
  }
}

// Little's law: sows in the house are the sows loaded a day times the days they stay.
TEST(Farm, HoldsAsManySowsAsLittlesLawSays) {
  const SimulatedFarm farm("farm: {groups: 20, group_every: 7, rooms: 5}\nroom: {crates: 6}\nherd: {health: off}\n");
  const CountedTime counted = farm.settings().counted();
  const double sow_days = static_cast<double>(farm.tables().sow_days.rows());  // of the groups that count
  const double sows = static_cast<double>(farm.tables().sows.rows());
  const double days = (counted.until - counted.from).days();
  const double loaded_per_day = sows / days, stay_d = sow_days / sows;
  const double in_house = loaded_per_day * stay_d;
  // The timetable says it without the simulation: weaning is on the morning of its day, and whole days count.
  EXPECT_NEAR(in_house, 6.0 / 7 * farm.settings().weaning_day(), 1e-9);
}

TEST(Farm, HasOneSkyOverAllRooms) {
  const SimulatedFarm farm(small_farm);
  const auto hour = farm.column(farm.tables().room_hours, "hour"),
             outdoor = farm.column(farm.tables().room_hours, "outdoor_deg_c");
  std::map<double, double> sky;
  int shared = 0;
  for (std::size_t i = 0; i < hour.size(); ++i) {
    const auto [found, is_new] = sky.try_emplace(hour[i], outdoor[i]);
    if (is_new) continue;
    ++shared;
    ASSERT_EQ(found->second, outdoor[i]) << "hour " << hour[i];
  }
  EXPECT_GT(shared, 1000);
}

TEST(Farm, SharesItsPeopleBetweenTheRooms) {
  const SimulatedFarm alone(
      "farm: {groups: 4, group_every: 28, rooms: 2}\nroom: {crates: 20}\n"
      "staff: {shifts: [{people: 1}]}\n");
  const SimulatedFarm crowded(
      "farm: {groups: 4, group_every: 28, rooms_per_group: 6, rooms: 12}\nroom: {crates: 20}\n"
      "staff: {shifts: [{people: 1}]}\n");
  const auto late_share = [](const SimulatedFarm& farm) {
    double late = 0, all = 0;
    for (const double outcome : farm.column(farm.tables().tasks, "outcome")) {
      late += outcome != static_cast<double>(TaskOutcome::done);
      ++all;
    }
    return late / all;
  };
  EXPECT_GT(late_share(crowded), late_share(alone) + 0.1);
}

TEST(Farm, TakesInNurseSowsOnlyWhereItIsToldTo) {
  const std::string crowded = "room: {crates: 24}\nherd: {every_sow: {total_born: 20}}\n";
  const auto nurses = [](const SimulatedFarm& room) {
    const auto nurse = room.column(room.tables().sows, "nurse"), born = room.column(room.tables().sows, "total_born"),
               weaned = room.column(room.tables().sows, "weaned");
    double count = 0, reared = 0;
    for (std::size_t i = 0; i < nurse.size(); ++i) {
      if (nurse[i] == 0) continue;
      ++count;
      reared += weaned[i];
      EXPECT_EQ(born[i], 0) << "she farrowed elsewhere";
    }
    return std::pair{count, reared};
  };
  const SimulatedFarm with(crowded + "fostering: {kind: fill_and_equalise, max_moved: 0.5, nurse_sows: 2}\n");
  EXPECT_GE(nurses(with).first, 1);
  EXPECT_LE(nurses(with).first, 2);
  EXPECT_GT(nurses(with).second, 0);
  const SimulatedFarm without(crowded + "fostering: {kind: fill_and_equalise, max_moved: 0.5}\n");
  EXPECT_EQ(nurses(without).first, 0);
}

TEST(Farm, OfOneGroupIsARoom) {
  const SimulatedFarm farm("room: {crates: 5}\n");
  EXPECT_EQ(farm.settings().counted().from, Time{});
  EXPECT_EQ(farm.tables().sows.rows(), 5u);
}

TEST(Farm, MissesPeopleOnTheShareOfDaysItSays) {
  const char* all_there =
      "farm: {groups: 40, group_every: 7, rooms: 5}\nroom: {crates: 1}\n"
      "staff: {shifts: [{people: 5, absence: 0.2, break: 0 min}]}\n";
  const SimulatedFarm farm(all_there);
  double people = 0, shifts = 0;
  for (const auto& event : farm.events()) {
    if (event.what != EventKind::shift_began) continue;
    people += event.amount;
    ++shifts;
  }
  ASSERT_GT(shifts, 200);
  const double expected = 5 * 0.8, standard_error = std::sqrt(5 * 0.8 * 0.2 / shifts);  // binomial
  EXPECT_NEAR(people / shifts, expected, 4 * standard_error);
}

TEST(Farm, RefusesTooFewRoomsAndANightTwice) {
  const auto refused = [](const std::string& yaml) {
    try {
      read_settings<FarmSettings>(Document::from_text(yaml, "farm.yaml"), Coefficients::built_in());
    } catch (const ScenarioError& error) {
      EXPECT_EQ(error.mistakes().size(), 1u);
      return error.mistakes().front().allowed;
    }
    return std::string("was read");
  };
  EXPECT_EQ(refused("farm: {groups: 10, rooms: 3}\n"), "at least 5 rooms for a group every 7 days");
  EXPECT_NE(refused("farm: {rooms_per_group: 3}\n").find("at least 3"), std::string::npos);
  EXPECT_NE(refused("farm: {warm_up_groups: 2}\n").find("at least 5"), std::string::npos);
  EXPECT_NE(refused("attendance: {night_people: 1}\nstaff: {shifts: [{from: \"16:00\", until: \"02:00\"}]}\n")
                .find("night_people: 0"),
            std::string::npos);
}

}  // namespace
}  // namespace farrowtide
