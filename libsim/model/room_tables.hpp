// The tables one run fills, and which of them are wanted.
#pragma once

#include <string_view>
#include <vector>

#include "libsim/record/rows.hpp"

namespace farrowtide {

// Sows are always recorded: one row each. The rest as asked.
struct Recording {
  bool sow_days = true;
  bool piglets = true;
  bool room_hours = true;
  bool tasks = true;
  bool events = false;
};

struct RoomTables {
  TableOf<SowRow> sows;
  TableOf<SowDayRow> sow_days;
  TableOf<PigletRow> piglets;
  TableOf<RoomHourRow> room_hours;
  TableOf<TaskRow> tasks;
  TableOf<WorkHourRow> work_hours;  // with the tasks
  TableOf<DutyHourRow> duty_hours;  // with the tasks
  TableOf<EventRow> events;

  std::vector<Table*> all() {
    return {&sows, &sow_days, &piglets, &room_hours, &tasks, &work_hours, &duty_hours, &events};
  }
  std::vector<const Table*> all() const {
    return {&sows, &sow_days, &piglets, &room_hours, &tasks, &work_hours, &duty_hours, &events};
  }
};

}  // namespace farrowtide
