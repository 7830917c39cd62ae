// The tables filled by one run.
#pragma once

#include <string_view>
#include <vector>

#include "libsim/record/rows.hpp"

namespace farrowtide {

struct RoomTables {
  TableOf<SowRow> sows;
  TableOf<SowDayRow> sow_days;
  TableOf<PigletRow> piglets;
  TableOf<RoomHourRow> room_hours;
  TableOf<TaskRow> tasks;
  TableOf<WorkHourRow> work_hours;  // recorded together with the tasks
  TableOf<DutyHourRow> duty_hours;  // recorded together with the tasks
  TableOf<EventRow> events;
  TableOf<VisitRow> visits;  // the causes: this table and the three below are recorded together
  TableOf<StretchRow> stretches;
  TableOf<RosterRow> roster;
  TableOf<DeathRow> deaths;

  std::vector<Table*> all() {
    return {&sows,       &sow_days, &piglets, &room_hours, &tasks,  &work_hours,
            &duty_hours, &events,   &visits,  &stretches,  &roster, &deaths};
  }
  std::vector<const Table*> all() const {
    return {&sows,       &sow_days, &piglets, &room_hours, &tasks,  &work_hours,
            &duty_hours, &events,   &visits,  &stretches,  &roster, &deaths};
  }
};

}  // namespace farrowtide
