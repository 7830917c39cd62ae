// The records of one room: rows for the requested tables, stamped with the replicate, and its ledger. Only the counted
// period of a farm is recorded: groups by their day of loading, work and events by their time.
#pragma once

#include <cstdint>

#include "libsim/kernel/time.hpp"
#include "libsim/model/farm_settings.hpp"
#include "libsim/record/kinds.hpp"
#include "libsim/record/ledger.hpp"
#include "libsim/record/table.hpp"

namespace farrowtide {

struct RoomTables;
struct SowRow;
struct SowDayRow;
struct PigletRow;
struct RoomHourRow;
struct TaskRow;
struct WorkHourRow;
struct DutyHourRow;
struct VisitRow;
struct StretchRow;
struct RosterRow;
struct DeathRow;

// Which tables are recorded. Sows are always recorded, one row each.
struct Recording {
  bool sow_days = true;
  bool piglets = true;
  bool room_hours = true;
  bool tasks = true;
  bool events = false;
  bool causes = false;  // visits, stretches, roster and deaths
};

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
    if (recording_.events && counted_.holds(now)) add_event(now, what, sow, piglet, amount, detail);
  }

  // Whether causes are recorded; their rows are built only then.
  bool holds_causes() const { return recording_.causes; }

  // Rows are passed by value and cannot be read back. Only code that writes a row includes libsim/record/rows.hpp.
  void write(SowRow row);
  void write(SowDayRow row);
  void write(PigletRow row);
  void write(RoomHourRow row);
  void write(TaskRow row);
  void write(WorkHourRow row);
  void write(DutyHourRow row);
  void write(VisitRow row);
  void write(StretchRow row);
  void write(RosterRow row);
  void write(DeathRow row);

 private:
  void add_event(Time now, EventKind what, int sow, int piglet, double amount, double detail);
  template <class Row>
  Row& stamped(Row& row) const;
  template <class Row>
  Row& of_group(Row& row) const;

  Recording recording_;
  RoomTables& tables_;
  std::int32_t replicate_;
  CountedTime counted_;
  GroupInRoom group_;
  bool group_counts_;
};

}  // namespace farrowtide
