// People at work: one thing at a time, help before routine, and what is not done in time is told.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "tests/unit/model/simulated_farm.hpp"

namespace farrowtide {
namespace {

struct Task {
  TaskKind kind;
  TaskOutcome outcome;
  double asked_h, started_h, done_h, minutes, interruptions;
};

std::vector<Task> tasks(const SimulatedFarm& room) {
  const Table& table = room.tables().tasks;
  const auto kind = room.column(table, "kind"), outcome = room.column(table, "outcome"),
             asked_h = room.column(table, "asked_h"), started_h = room.column(table, "started_h"),
             done_h = room.column(table, "done_h"), minutes = room.column(table, "minutes"),
             interruptions = room.column(table, "interruptions");
  std::vector<Task> all;
  for (std::size_t i = 0; i < kind.size(); ++i) {
    all.push_back({static_cast<TaskKind>(static_cast<int>(kind[i])),
                   static_cast<TaskOutcome>(static_cast<int>(outcome[i])), asked_h[i], started_h[i], done_h[i],
                   minutes[i], interruptions[i]});
  }
  return all;
}

double hour_of_day(double time_h) { return time_h - 24 * std::floor(time_h / 24); }

TEST(Work, StartsOnlyWhileSomebodyIsAtWork) {
  const SimulatedFarm room(
      "room: {crates: 12}\nclimate: {kind: imposed}\nstaff: {shifts: [{from: \"07:00\", until: \"16:00\", people: 1, "
      "break: 60 min, break_from: \"12:00\"}]}\n");
  int started = 0;
  for (const Task& task : tasks(room)) {
    if (std::isnan(task.started_h)) continue;
    ++started;
    const double hour = hour_of_day(task.started_h);
    EXPECT_TRUE((hour >= 7 && hour < 12) || (hour >= 13 && hour < 16)) << name_of(task.kind) << " at " << hour;
  }
  EXPECT_GT(started, 100);
}

TEST(Work, OfOnePersonNeverOverlapsExceptWhenCalledAway) {
  const SimulatedFarm room(
      "room: {crates: 24}\nclimate: {kind: imposed}\nstaff: {shifts: [{from: \"07:00\", until: \"16:00\", people: "
      "1}]}\n");
  std::vector<Task> done;
  std::ranges::copy_if(tasks(room), std::back_inserter(done),
                       [](const Task& task) { return !std::isnan(task.done_h) && task.minutes > 0; });
  std::ranges::sort(done, {}, &Task::started_h);
  double busy_until_h = 0;
  for (const Task& task : done) {
    if (task.kind == TaskKind::assist) continue;  // pre-empts, and the pushed-out task goes on later
    EXPECT_GE(task.started_h, busy_until_h - 1e-9) << name_of(task.kind);
    busy_until_h = std::max(busy_until_h, task.interruptions > 0 ? task.started_h : task.done_h);
  }
}

TEST(Work, LeavesAFeedUndoneWhenNobodyComesThatDay) {
  const SimulatedFarm room(
      "room: {crates: 4}\nclimate: {kind: imposed}\nfeeding: {kind: hand, times: [\"07:00\", \"20:00\"]}\n"
      "staff: {shifts: [{from: \"07:00\", until: \"16:00\", people: 1}]}\n");
  int undone = 0;
  for (const Task& task : tasks(room)) {
    if (task.kind != TaskKind::feed_by_hand || hour_of_day(task.asked_h) != 20) continue;
    ++undone;
    EXPECT_EQ(task.outcome, TaskOutcome::undone);
    EXPECT_EQ(task.minutes, 0);
  }
  EXPECT_GT(undone, 15);
}

TEST(Work, RunsLateWhenOnePersonHasSixtySowsAndFourFeeds) {
  const std::string four =
      "climate: {kind: imposed}\nfeeding: {kind: hand, times: [\"07:00\", \"09:30\", \"12:30\", \"15:00\"]}\n";
  const auto late_or_undone = [&](int people) {
    const SimulatedFarm room("room: {crates: 60}\n" + four +
                             "staff: {shifts: [{from: \"07:00\", until: \"16:00\", people: " + std::to_string(people) +
                             "}]}\n");
    return std::ranges::count_if(tasks(room), [](const Task& task) { return task.outcome != TaskOutcome::done; });
  };
  EXPECT_GT(late_or_undone(1), 3 * late_or_undone(3));
}

TEST(Work, OfTheEmptyRoomIsDoneOnceAndOnAWorkingDay) {
  const SimulatedFarm room("room: {crates: 4}\nclimate: {kind: imposed}\nstart: 2026-01-12\n");
  int washes = 0;
  for (const Task& task : tasks(room)) {
    if (task.kind != TaskKind::wash) continue;
    ++washes;
    EXPECT_NE(task.outcome, TaskOutcome::undone);
  }
  EXPECT_EQ(washes, 1);
}

TEST(Work, ThatTheEndCutsOffIsToldAsUndoneWithItsMinutes) {
  // Two working hours a day cannot wean and wash twenty-four crates in four days.
  const SimulatedFarm room(
      "room: {crates: 24}\nclimate: {kind: imposed}\nattendance: {kind: none}\n"
      "staff: {shifts: [{from: \"07:00\", until: \"09:00\", people: 1, break: 0 min}]}\n"
      "feeding: {kind: full_access}\n");
  bool told = false;
  for (const Task& task : tasks(room)) {
    told |= task.kind == TaskKind::wash && task.outcome == TaskOutcome::undone && task.minutes > 0;
  }
  EXPECT_TRUE(told);
}

TEST(Work, ThatNobodyIsThereForIsTheUsersMistake) {
  EXPECT_THROW(SimulatedFarm(
                   "room: {crates: 2}\nclimate: {kind: imposed}\n"
                   "staff: {shifts: [{days: [tue], from: \"07:00\", until: \"08:00\", people: 1}]}\nstart: 2026-01-14\n"
                   "group: {lactation_days: 20}\n"),
               UserError);
}

TEST(Help, ComesOnlyAfterAnHourWithoutABirthAndOnlyInTheShift) {
  int exams = 0;
  for (std::uint32_t replicate = 0; replicate < 4; ++replicate) {
    const SimulatedFarm room(
        "room: {crates: 24}\nclimate: {kind: imposed}\nstaff: {shifts: [{from: \"07:00\", until: \"16:00\", people: "
        "2}]}\n",
        replicate);
    for (int sow = 1; sow <= 24; ++sow) {
      double last_birth_h = 0;
      int exams_of_sow = 0;
      for (const auto& event : room.events(sow)) {
        const bool birth = event.what == EventKind::piglet_born || event.what == EventKind::piglet_stillborn;
        if (birth) last_birth_h = event.time_h;
        if (event.what != EventKind::exam_made) continue;
        ++exams;
        EXPECT_GE(event.time_h - last_birth_h, (exams_of_sow++ == 0 ? 60 : 15) / 60.0);
        EXPECT_TRUE(hour_of_day(event.time_h) >= 7 && hour_of_day(event.time_h) < 17)
            << "an exam in hand is finished after the shift";
      }
    }
  }
  EXPECT_GT(exams, 20);
}

TEST(Help, IsAskedForOnceUntilItHasCome) {
  const SimulatedFarm room(
      "room: {crates: 24}\nclimate: {kind: imposed}\nattendance: {kind: rounds, round_every: 5 min}\n"
      "staff: {shifts: [{from: \"07:00\", until: \"16:00\", people: 3}]}\n");
  const auto& tasks = room.tables().tasks;
  const auto kind = room.column(tasks, "kind"), sow = room.column(tasks, "sow"),
             asked_h = room.column(tasks, "asked_h"), done_h = room.column(tasks, "done_h");
  int exams = 0;
  for (std::size_t i = 0; i < kind.size(); ++i) {
    if (static_cast<TaskKind>(static_cast<int>(kind[i])) != TaskKind::assist) continue;
    ++exams;
    for (std::size_t j = 0; j < kind.size(); ++j) {
      if (j == i || kind[j] != kind[i] || sow[j] != sow[i]) continue;
      EXPECT_FALSE(asked_h[j] >= asked_h[i] && asked_h[j] < done_h[i])
          << "sow " << sow[i] << " at " << asked_h[j] << " h";
    }
  }
  EXPECT_GT(exams, 3);
}

TEST(Help, IsCountedAmongBirthsOnDuty) {
  const SimulatedFarm room("room: {crates: 24}\nclimate: {kind: imposed}\n");
  const auto& piglets = room.tables().piglets;
  const auto hours = room.column(piglets, "birth_time_h");
  const auto on_duty = room.column(piglets, "born_on_duty");
  const auto attended = room.column(piglets, "attended");
  double births = 0, of_those_attended = 0;
  for (std::size_t i = 0; i < hours.size(); ++i) {
    const double hour = hour_of_day(hours[i]);
    const bool at_work = hour >= 7 && hour < 16 && (hour < 11 || hour >= 12);  // the break is from 11 to 12
    EXPECT_EQ(on_duty[i], at_work ? 1 : 0) << hour;
    births += on_duty[i];
    of_those_attended += on_duty[i] * attended[i];
  }
  double counted = 0, counted_attended = 0;
  for (const double count : room.column(room.tables().sows, "births_on_duty")) counted += count;
  for (const double count : room.column(room.tables().sows, "attended_births_on_duty")) counted_attended += count;
  EXPECT_GT(births, 0);
  EXPECT_EQ(counted, births);
  EXPECT_EQ(counted_attended, of_those_attended);
}

TEST(Help, IsNotThereWithoutRounds) {
  const SimulatedFarm room("room: {crates: 24}\nclimate: {kind: imposed}\nattendance: {kind: none}\n");
  for (const double exams : room.column(room.tables().sows, "exams")) EXPECT_EQ(exams, 0);
  for (const double attended : room.column(room.tables().sows, "attended_births")) EXPECT_EQ(attended, 0);
}

}  // namespace
}  // namespace farrowtide
