// People's time by hour of the day: against a hand count, against the tasks of a room, and against a known load.
#include "libsim/model/work_hours.hpp"

#include <array>
#include <cmath>
#include <map>

#include "libsim/kernel/random.hpp"
#include "tests/unit/model/simulated_farm.hpp"

namespace farrowtide {
namespace {

using Rows = std::map<std::pair<int, TaskKind>, double>;  // minutes by hour and kind

Rows work_of(const Table& table) {
  const auto& hour = std::get<std::vector<std::int32_t>>(table.column(1));
  const auto& kind = std::get<std::vector<std::int32_t>>(table.column(2));
  const auto& minutes = std::get<std::vector<double>>(table.column(3));
  Rows rows;
  for (std::size_t i = 0; i < table.rows(); ++i) {
    EXPECT_TRUE(rows.try_emplace({hour[i], static_cast<TaskKind>(kind[i])}, minutes[i]).second) << "row " << i;
  }
  return rows;
}

std::map<int, double> duty_of(const Table& table) {
  const auto& hour = std::get<std::vector<std::int32_t>>(table.column(1));
  const auto& minutes = std::get<std::vector<double>>(table.column(2));
  std::map<int, double> rows;
  for (std::size_t i = 0; i < table.rows(); ++i) rows[hour[i]] = minutes[i];
  return rows;
}

// What a clock writes; `counted` is the time that counts.
struct Clock {
  CountedTime counted;
  RoomTables tables;
  WorkHours hours{counted};

  void write(const std::vector<Duty>& duties) {
    RoomRecords records(Recording{}, tables, 0, counted);
    hours.write(records, duties);
  }
};

constexpr Time at(int day, Duration clock) { return Time{} + day * 1_d + clock; }

TEST(WorkHours, CutStretchesAtFullHoursAndAtTheTimeThatCounts) {
  Clock clock{{at(1, 0_h), at(3, 0_h)}, {}};
  const auto work = [&](TaskKind kind, Time begin, Time end) {
    clock.hours.served(static_cast<int>(kind), begin, end);
  };
  work(TaskKind::wash, at(1, 7_h + 50_min), at(1, 9_h + 5_min));
  work(TaskKind::wash, at(2, 8_h), at(2, 9_h));
  work(TaskKind::assist, at(1, 23_h + 55_min), at(2, 0_h + 10_min));
  work(TaskKind::wean, at(0, 23_h + 50_min), at(1, 0_h + 20_min));  // ten minutes before it counts
  work(TaskKind::wean, at(2, 23_h + 50_min), at(3, 0_h + 20_min));  // twenty after
  work(TaskKind::records, at(5, 8_h), at(5, 9_h));                  // does not count
  clock.write({{at(0, 22_h), at(1, 2_h), 3}, {at(1, 7_h + 30_min), at(1, 9_h), 2}, {at(2, 22_h), at(4, 0_h), 1}});
  EXPECT_EQ(work_of(clock.tables.work_hours), (Rows{{{7, TaskKind::wash}, 10},
                                                    {{8, TaskKind::wash}, 120},
                                                    {{9, TaskKind::wash}, 5},
                                                    {{23, TaskKind::assist}, 5},
                                                    {{0, TaskKind::assist}, 10},
                                                    {{0, TaskKind::wean}, 20},
                                                    {{23, TaskKind::wean}, 10}}));
  EXPECT_EQ(duty_of(clock.tables.duty_hours),
            (std::map<int, double>{{0, 180}, {1, 180}, {7, 60}, {8, 120}, {22, 60}, {23, 60}}));
  EXPECT_EQ(std::get<std::vector<double>>(clock.tables.duty_hours.column(3)), std::vector<double>(6, 2));  // days
  EXPECT_EQ(clock.hours.all(), 75_min + 60_min + 15_min + 30_min + 30_min + 60_min);
}

TEST(WorkHours, NameTheSowOfEachStretch) {
  EXPECT_EQ(WorkLabel::of(WorkLabel{TaskKind::farrowing_watch, 40}.code()).sow, 40);
  EXPECT_EQ(WorkLabel::of(WorkLabel{TaskKind::farrowing_watch, 40}.code()).kind, TaskKind::farrowing_watch);
  EXPECT_EQ((WorkLabel{TaskKind::assist}.code()), static_cast<int>(TaskKind::assist)) << "of a request";
  const SimulatedFarm room("room: {crates: 12}\nstaff: {shifts: [{from: \"07:00\", until: \"16:00\", people: 1}]}\n");
  const Table& stretches = room.tables().stretches;
  const auto sow = room.column(stretches, "sow"), from_h = room.column(stretches, "from_h"),
             until_h = room.column(stretches, "until_h");
  double minutes = 0, until_now_h = 0;
  for (std::size_t i = 0; i < stretches.rows(); ++i) {
    EXPECT_TRUE(sow[i] == -1 || (sow[i] >= 1 && sow[i] <= 12)) << sow[i];
    EXPECT_GE(from_h[i], until_now_h - 1e-9) << "one person does one thing at a time";
    until_now_h = until_h[i];
    minutes += 60 * (until_h[i] - from_h[i]);
  }
  double tasks = 0;
  for (const double worked : room.column(room.tables().tasks, "minutes")) tasks += worked;
  EXPECT_NEAR(minutes, tasks, 1e-6);
}

TEST(WorkHours, OfARoomAddUpToItsTasksKindByKind) {
  const SimulatedFarm room("room: {crates: 24}\nstaff: {shifts: [{from: \"07:00\", until: \"16:00\", people: 1}]}\n");
  const auto kind = room.column(room.tables().tasks, "kind"), minutes = room.column(room.tables().tasks, "minutes");
  std::array<double, NameTable<TaskKind>::size> tasks{}, hours{};
  for (std::size_t i = 0; i < kind.size(); ++i) tasks.at(static_cast<std::size_t>(kind[i])) += minutes[i];
  for (const auto& [place, worked] : work_of(room.tables().work_hours)) {
    hours.at(static_cast<std::size_t>(place.second)) += worked;
  }
  for (std::size_t i = 0; i < NameTable<TaskKind>::size; ++i) {
    EXPECT_NEAR(hours[i], tasks[i], 1e-6) << name_of(static_cast<TaskKind>(i));
  }
  EXPECT_GT(hours.at(static_cast<std::size_t>(TaskKind::assist)), 0);
}

TEST(WorkHours, CountOnDutyOnlyWhoIsThere) {
  const auto on_duty_min = [](const std::string& absence) {
    const SimulatedFarm room(
        "room: {crates: 4}\nherd: {health: off}\nstaff: {shifts: [{people: 2, absence: " + absence + "}]}\n");
    double sum = 0;
    for (const auto& [hour, minutes] : duty_of(room.tables().duty_hours)) sum += minutes;
    return std::pair{sum, planned_staff_minutes(room.settings())};
  };
  const auto [all, planned] = on_duty_min("0");
  EXPECT_NEAR(all, planned, 1e-6);
  const auto [some, same] = on_duty_min("0.3");
  EXPECT_EQ(same, planned);
  const double person_days = planned / 480;                                  // nine hours with a break of one
  EXPECT_NEAR(some / planned, 0.7, 4 * std::sqrt(0.7 * 0.3 / person_days));  // binomial
}

struct Desk {
  Simulation clock;
  Resource staff{clock, 2};

  Simulation& simulation() { return clock; }
};

Process<> visit(Desk& desk) {
  auto seat = co_await desk.staff.acquire();
  co_await seat.serve(10_min);
}

Process<> arrivals(Desk& desk, std::uint32_t replicate) {
  for (std::uint32_t number = 0;; ++number) {
    const StreamKey key{.seed = 7, .replicate = replicate, .entity = number, .purpose = 1};
    co_await desk.clock.delay(Duration::from_minutes(exponential(key) / 0.14));
    desk.clock.spawn(visit(desk));
  }
}

// Two people, 0.14 visits a minute of 10 min each: both are busy 0.7 of every hour of the day, whatever the
// distributions (utilisation is lambda E[S] / c; Gross and others 2008, Fundamentals of Queueing Theory, from memory).
// The standard error is over 40 replicates of 50 days; one day to settle. 24 hours are judged: |z| < 4.
TEST(WorkHours, FindTheLoadOfAQueueInEveryHour) {
  constexpr int replicates = 40, days = 50;
  std::array<std::vector<double>, 24> busy;
  for (std::uint32_t replicate = 0; replicate < replicates; ++replicate) {
    Clock hours{{at(1, 0_h), at(1 + days, 0_h)}, {}};
    Desk desk;
    desk.staff.observe(&hours.hours);
    desk.clock.spawn(arrivals(desk, replicate));
    desk.clock.run_until(at(2 + days, 0_h));
    hours.write({{at(0, 0_h), at(2 + days, 0_h), 2}});
    const auto on_duty_min = duty_of(hours.tables.duty_hours);
    for (const auto& [place, minutes] : work_of(hours.tables.work_hours)) {
      busy.at(static_cast<std::size_t>(place.first)).push_back(minutes / on_duty_min.at(place.first));
    }
  }
  for (std::size_t hour = 0; hour < busy.size(); ++hour) {
    ASSERT_EQ(busy[hour].size(), static_cast<std::size_t>(replicates));
    double sum = 0, squares = 0;
    for (const double share : busy[hour]) sum += share;
    const double mean = sum / replicates;
    for (const double share : busy[hour]) squares += (share - mean) * (share - mean);
    const double standard_error = std::sqrt(squares / (replicates - 1) / replicates);
    EXPECT_LT(std::abs(mean - 0.7), 4 * standard_error) << "hour " << hour << ": " << mean;
    EXPECT_LT(standard_error, 0.01) << "too small a sample to tell";
  }
}

}  // namespace
}  // namespace farrowtide
