#include "libsim/model/task_record.hpp"

#include "libsim/model/room_records.hpp"
#include "libsim/model/work.hpp"
#include "libsim/record/rows.hpp"

namespace farrowtide {
namespace {

double hours(const std::optional<Time>& moment) { return moment ? moment->since_start().hours() : missing; }

TaskRow task_row(const WorkOrder& order, const TaskRecord& record) {
  TaskRow row;
  row.kind = static_cast<std::int32_t>(order.kind);
  row.sow = order.visits.size() == 1 && order.visits.front().sow ? order.visits.front().sow->number : -1;
  row.animals = static_cast<std::int32_t>(order.visits.size());
  row.asked_h = hours(order.asked);
  row.due_h = hours(order.due);
  row.started_h = hours(record.started);
  row.done_h = hours(record.done);
  row.minutes = record.minutes;
  row.interruptions = record.interruptions;
  row.outcome = static_cast<std::int32_t>(record.outcome);
  return row;
}

void write_visits(RoomRecords& records, const WorkOrder& order) {
  for (const Visit& visit : order.visits) {
    records.write(VisitRow{.kind = static_cast<std::int32_t>(order.kind),
                           .sow = visit.sow ? visit.sow->number : -1,
                           .asked_h = hours(order.asked),
                           .due_h = hours(order.due),
                           .given_up_h = hours(order.give_up),
                           .started_h = hours(visit.started),
                           .done_h = hours(visit.done),
                           .minutes = visit.done ? Duration::from_minutes(visit.minutes).minutes() : missing,
                           .outcome = static_cast<std::int32_t>(visit.outcome)});
  }
}

}  // namespace

TaskRecord::~TaskRecord() {
  if (records_.holds_causes()) write_visits(records_, order_);
  if (!called_off) records_.write(task_row(order_, *this));
}

}  // namespace farrowtide
