// The record of a task, from its request to its end; written as a row when the task is over
// or the simulation ends.
#pragma once

#include <optional>

#include "libsim/kernel/time.hpp"
#include "libsim/record/kinds.hpp"

namespace farrowtide {

class RoomRecords;
struct WorkOrder;

class TaskRecord {
 public:
  // `records` and `order` must outlive the record.
  TaskRecord(RoomRecords& records, const WorkOrder& order) : records_(records), order_(order) {}
  TaskRecord(const TaskRecord&) = delete;
  TaskRecord& operator=(const TaskRecord&) = delete;
  ~TaskRecord();

  std::optional<Time> started, done;
  double minutes = 0;     // worked
  int interruptions = 0;  // times the person was called away or the shift ended
  TaskOutcome outcome = TaskOutcome::undone;
  bool called_off = false;  // no longer needed: no row is written

 private:
  RoomRecords& records_;
  const WorkOrder& order_;
};

}  // namespace farrowtide
