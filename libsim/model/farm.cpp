#include "libsim/model/farm.hpp"

#include <algorithm>

namespace farrowtide {
namespace {

int first_weekday(std::chrono::year_month_day start) {
  return static_cast<int>(std::chrono::weekday(std::chrono::sys_days(start)).iso_encoding()) - 1;
}

Roster roster(const FarmSettings& settings) {
  return Roster(settings.staff.shifts).with_night_cover(settings.attendance->night_people());
}

// Whether a person on a shift is absent on a given day; the same under every policy.
auto absences(const Draws& draws, const std::vector<Shift>& shifts) {
  return [&draws, &shifts](int day, int shift, int person) {
    constexpr std::uint32_t most_people = 64;
    const auto entity = static_cast<std::uint32_t>(shift) * most_people + static_cast<std::uint32_t>(person);
    return draws.uniform(Purpose::absence, entity, static_cast<std::uint32_t>(day)) <
           shifts[static_cast<std::size_t>(shift)].absence;
  };
}

std::vector<Duty> duties_of(const FarmSettings& settings, const Draws& draws) {
  const Roster people = roster(settings);
  return people.duties(first_weekday(settings.start), settings.last_day_of_farm() + 1,
                       absences(draws, people.shifts()));
}

// Consecutive intervals with the number of people on break.
std::vector<Duty> breaks_of(const FarmSettings& settings, const Draws& draws) {
  const Roster people = roster(settings);
  return one_after_the_other(
      people.breaks(first_weekday(settings.start), settings.last_day_of_farm() + 1, absences(draws, people.shifts())));
}

// Which group is loaded into which room, and when: all-in/all-out, using the rooms in rotation.
std::vector<GroupInRoom> timetable(const FarmSettings& settings) {
  const BatchSchedule& schedule = settings.schedule;
  std::vector<GroupInRoom> all;
  for (int group = 1; group <= schedule.groups_in_all(settings.last_day()); ++group) {
    for (int i = 0; i < schedule.rooms_per_group; ++i) {
      const int before = static_cast<int>(all.size());
      all.push_back({.group = group,
                     .room = before % schedule.rooms + 1,
                     .first_sow = before * (settings.sows() + settings.fostering->nurse_sows()) + 1,
                     .loading_day = (group - 1) * schedule.group_every_days});
    }
  }
  return all;
}

}  // namespace

Farm::Farm(const FarmSettings& farm_settings, const Biology& farm_biology, Draws farm_draws, Recording what_to_record,
           RoomTables& farm_tables)
    : settings(farm_settings),
      biology(farm_biology),
      draws(farm_draws),
      recording(what_to_record),
      tables(farm_tables),
      records(recording, tables, draws.replicate, settings.counted()),
      outdoors(biology.coefficients, settings, draws),
      duties(duties_of(settings, draws)),
      at_work(one_after_the_other(duties)),
      work_hours(settings.counted(), recording.causes ? &records : nullptr),
      staff(clock, 0) {
  if (recording.tasks || recording.causes) staff.observe(&work_hours);
}

void Farm::run(const Simulation::Callback& watch) {
  if (watch) clock.set_watch(10000, watch);
  begin();
  clock.run_until(Time{} + (settings.last_day_of_farm() + 1) * 1_d);
  close_work();
}

void Farm::begin() {
  clock.spawn(shifts(*this).named("shifts"), Order::environment);
  for (const GroupInRoom& group : timetable(settings)) {
    clock.spawn(pass_through(*this, group).named("group in room", group.room), Order::environment,
                Time{} + group.loading_day * 1_d);
  }
}

void Farm::close_work() {
  records.check_staff(staff.served().minutes(), staff_minutes_worked);
  if (recording.causes) write_roster(records, at_work, breaks_of(settings, draws));
  if (!recording.tasks) return;
  records.check_work_hours(staff.served().minutes(), work_hours.all().minutes());
  work_hours.write(records, at_work);
}

std::uint64_t Farm::checks() const {
  std::uint64_t sum = records.checks();
  for (const FarrowingRoom& group : groups) sum += group.records.checks();
  return sum;
}

std::vector<Duty> planned_duties(const FarmSettings& settings) {
  return one_after_the_other(roster(settings).duties(first_weekday(settings.start), settings.last_day_of_farm() + 1));
}

double planned_staff_minutes(const FarmSettings& settings) {
  const CountedTime counted = settings.counted();
  double minutes = 0;
  for (const Duty& duty : roster(settings).duties(first_weekday(settings.start), settings.last_day_of_farm() + 1)) {
    const Time begin = std::max(duty.begin, counted.from), end = std::min(duty.end, counted.until);
    if (begin < end) minutes += (end - begin).minutes() * duty.people;
  }
  return minutes;
}

Process<> shifts(Farm& farm) {
  for (std::size_t i = 0; i < farm.at_work.size(); ++i) {
    const Duty duty = farm.at_work[i];
    co_await farm.clock.until(duty.begin);
    farm.staff.set_capacity(duty.people, duty.at_end);
    farm.records.event(farm.clock.now(), EventKind::shift_began, -1, -1, duty.people);
    co_await farm.clock.until(duty.end);
    const bool goes_on = i + 1 < farm.at_work.size() && farm.at_work[i + 1].begin == duty.end;
    if (!goes_on) farm.staff.set_capacity(0, duty.at_end);
    farm.records.event(farm.clock.now(), EventKind::shift_ended);
  }
}

Process<> pass_through(Farm& farm, GroupInRoom group) {
  FarrowingRoom& room = farm.groups.emplace_back(farm, group);
  room.begin();
  co_await farm.clock.until(room.end(), Order::record);
  room.close();
}

}  // namespace farrowtide
