// A farm: the people, the outdoor air and the clock that its rooms share, and the groups that pass through the rooms.
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

  // Runs every group from loading to the washed room. `watch` is called now and then; what it throws ends the run.
  void run(const Simulation::Callback& watch = {});

  Simulation& simulation() { return clock; }
  std::uint64_t checks() const;  // of conservation laws, all passed

  const FarmSettings& settings;
  const Biology& biology;
  const Draws draws;
  const Recording recording;
  RoomTables& tables;
  RoomRecords records;  // of what concerns no group
  Outdoors outdoors;
  std::vector<Duty> duties;   // in order of their beginning
  std::vector<Duty> at_work;  // the same, one after the other, with all people of the moment
  WorkHours work_hours;
  double staff_minutes_worked = 0;
  std::deque<FarrowingRoom> groups;  // that have come, in order of loading

 private:
  void refuse_unweaned() const;
  void close_work();

 public:
  Resource staff;
  Simulation clock;  // last: it goes first, while what its processes refer to is still there
};

// Minutes that people are on duty in the time that counts, everybody counted and nobody missing.
double planned_staff_minutes(const FarmSettings& settings);

// The people come and go.
Process<> shifts(Farm& farm);

// One room's part of a group, from loading to the washed room.
Process<> pass_through(Farm& farm, GroupInRoom group);

}  // namespace farrowtide
