// A farm: the staff, the outdoor climate and the clock shared by its rooms, and the groups that pass through the rooms.
#pragma once

#include <cstdint>
#include <deque>
#include <vector>

#include "libsim/kernel/resource.hpp"
#include "libsim/kernel/simulation.hpp"
#include "libsim/model/biology.hpp"
#include "libsim/model/farm_settings.hpp"
#include "libsim/model/farrowing_room.hpp"
#include "libsim/model/purpose.hpp"
#include "libsim/model/room_records.hpp"
#include "libsim/model/room_weather.hpp"
#include "libsim/model/staff/roster.hpp"
#include "libsim/model/work_hours.hpp"

namespace farrowtide {

class Farm {
 public:
  // Settings and biology must outlive the farm; rows go to `farm_tables`.
  Farm(const FarmSettings& farm_settings, const Biology& farm_biology, Draws farm_draws, Recording what_to_record,
       RoomTables& farm_tables);

  // Runs every group from loading until its room is washed. `watch` is called periodically; an exception it throws ends
  // the run.
  void run(const Simulation::Callback& watch = {});
  // Starts every process of it without advancing the clock: for a run of part of the time.
  void begin();

  Simulation& simulation() { return clock; }
  std::uint64_t checks() const;  // number of conservation checks, all passed

  const FarmSettings& settings;
  const Biology& biology;
  const Draws draws;
  const Recording recording;
  RoomTables& tables;
  RoomRecords records;  // records that belong to no group
  Outdoors outdoors;
  std::vector<Duty> duties;   // sorted by start
  std::vector<Duty> at_work;  // the same as consecutive intervals, each with the total number of people on duty
  WorkHours work_hours;
  double staff_minutes_worked = 0;
  std::deque<FarrowingRoom> groups;  // loaded so far, in order of loading

 private:
  void close_work();

 public:
  Resource staff;
  Simulation clock;  // declared last and so destroyed first, while everything its processes refer to still exists
};

// Who is on duty when, without absences, over all days of the farm: consecutive intervals.
std::vector<Duty> planned_duties(const FarmSettings& settings);

// Planned person-minutes on duty within the counted time, without absences.
double planned_staff_minutes(const FarmSettings& settings);

// Sets the number of people at work as shifts begin and end.
Process<> shifts(Farm& farm);

// One room's part of a group, from loading until the room is washed.
Process<> pass_through(Farm& farm, GroupInRoom group);

}  // namespace farrowtide
