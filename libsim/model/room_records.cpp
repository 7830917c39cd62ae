#include "libsim/model/room_records.hpp"

#include "libsim/model/room_tables.hpp"
#include "libsim/record/rows.hpp"

namespace farrowtide {

template <class Row>
Row& RoomRecords::stamped(Row& row) const {
  row.replicate = replicate_;
  return row;
}

template <class Row>
Row& RoomRecords::of_group(Row& row) const {
  row.group = group_.group;
  return stamped(row);
}

void RoomRecords::add_event(Time now, EventKind what, int sow, int piglet, double amount, double detail) {
  tables_.events.add(
      {replicate_, now.since_start().hours(), static_cast<std::int32_t>(what), sow, piglet, amount, detail});
}

void RoomRecords::write(SowRow row) {
  row.room = group_.room;
  if (group_counts_) tables_.sows.add(of_group(row));
}

void RoomRecords::write(SowDayRow row) {
  if (recording_.sow_days && group_counts_) tables_.sow_days.add(stamped(row));
}

void RoomRecords::write(PigletRow row) {
  if (recording_.piglets && group_counts_) tables_.piglets.add(stamped(row));
}

void RoomRecords::write(RoomHourRow row) {
  if (recording_.room_hours && group_counts_) tables_.room_hours.add(of_group(row));
}

void RoomRecords::write(TaskRow row) {
  if (recording_.tasks && counted_.holds(Time{} + Duration::from_hours(row.asked_h))) tables_.tasks.add(of_group(row));
}

void RoomRecords::write(WorkHourRow row) { tables_.work_hours.add(stamped(row)); }
void RoomRecords::write(DutyHourRow row) { tables_.duty_hours.add(stamped(row)); }

void RoomRecords::write(VisitRow row) {
  if (counted_.holds(Time{} + Duration::from_hours(row.asked_h))) tables_.visits.add(of_group(row));
}

void RoomRecords::write(StretchRow row) { tables_.stretches.add(stamped(row)); }
void RoomRecords::write(RosterRow row) { tables_.roster.add(stamped(row)); }

void RoomRecords::write(DeathRow row) {
  if (group_counts_) tables_.deaths.add(stamped(row));
}

}  // namespace farrowtide
