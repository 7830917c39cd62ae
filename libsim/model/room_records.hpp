// What one room writes: rows into the tables that are wanted, stamped with the replicate; and its ledger.
#pragma once

#include <cstdint>

#include "libsim/kernel/time.hpp"
#include "libsim/model/room_tables.hpp"
#include "libsim/record/ledger.hpp"

namespace farrowtide {

class RoomRecords : public Ledger {
 public:
  RoomRecords(Recording recording, RoomTables& tables, std::uint32_t replicate)
      : recording_(recording), tables_(tables), replicate_(static_cast<std::int32_t>(replicate)) {}

  void event(Time now, EventKind what, int sow = -1, int piglet = -1, double amount = missing,
             double detail = missing) {
    if (recording_.events)
      tables_.events.add(
          {replicate_, now.since_start().hours(), static_cast<std::int32_t>(what), sow, piglet, amount, detail});
  }
  void write(SowRow row) { tables_.sows.add(stamped(row)); }
  void write(SowDayRow row) {
    if (recording_.sow_days) tables_.sow_days.add(stamped(row));
  }
  void write(PigletRow row) {
    if (recording_.piglets) tables_.piglets.add(stamped(row));
  }
  void write(RoomHourRow row) {
    if (recording_.room_hours) tables_.room_hours.add(stamped(row));
  }
  void write(TaskRow row) {
    if (recording_.tasks) tables_.tasks.add(stamped(row));
  }

 private:
  template <class Row>
  Row& stamped(Row& row) const {
    row.replicate = replicate_;
    return row;
  }

  Recording recording_;
  RoomTables& tables_;
  std::int32_t replicate_;
};

}  // namespace farrowtide
