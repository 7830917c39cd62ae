// What one room writes: rows into the tables that are wanted, stamped with the replicate; and its ledger. A farm counts
// what falls into a part of its time: groups by the day they are loaded, work and events by their moment.
#pragma once

#include <cstdint>

#include "libsim/kernel/time.hpp"
#include "libsim/model/farm_settings.hpp"
#include "libsim/model/room_tables.hpp"
#include "libsim/record/ledger.hpp"

namespace farrowtide {

// One room's part of a group; numbers count from 1.
struct GroupInRoom {
  int group = 1, room = 1;
  int first_sow = 1;
  int loading_day = 0;
};

class RoomRecords : public Ledger {
 public:
  RoomRecords(Recording recording, RoomTables& tables, std::uint32_t replicate, CountedTime counted,
              GroupInRoom group = {})
      : recording_(recording),
        tables_(tables),
        replicate_(static_cast<std::int32_t>(replicate)),
        counted_(counted),
        group_(group),
        group_counts_(counted.holds(Time{} + group.loading_day * 1_d)) {}

  void event(Time now, EventKind what, int sow = -1, int piglet = -1, double amount = missing,
             double detail = missing) {
    if (recording_.events && counted_.holds(now))
      tables_.events.add(
          {replicate_, now.since_start().hours(), static_cast<std::int32_t>(what), sow, piglet, amount, detail});
  }
  void write(SowRow row) {
    row.room = group_.room;
    if (group_counts_) tables_.sows.add(of_group(row));
  }
  void write(SowDayRow row) {
    if (recording_.sow_days && group_counts_) tables_.sow_days.add(stamped(row));
  }
  void write(PigletRow row) {
    if (recording_.piglets && group_counts_) tables_.piglets.add(stamped(row));
  }
  void write(RoomHourRow row) {
    if (recording_.room_hours && group_counts_) tables_.room_hours.add(of_group(row));
  }
  void write(TaskRow row) {
    if (recording_.tasks && counted_.holds(Time{} + Duration::from_hours(row.asked_h)))
      tables_.tasks.add(of_group(row));
  }
  void write(WorkHourRow row) { tables_.work_hours.add(stamped(row)); }
  void write(DutyHourRow row) { tables_.duty_hours.add(stamped(row)); }

 private:
  template <class Row>
  Row& stamped(Row& row) const {
    row.replicate = replicate_;
    return row;
  }
  template <class Row>
  Row& of_group(Row& row) const {
    row.group = group_.group;
    return stamped(row);
  }

  Recording recording_;
  RoomTables& tables_;
  std::int32_t replicate_;
  CountedTime counted_;
  GroupInRoom group_;
  bool group_counts_;
};

}  // namespace farrowtide
