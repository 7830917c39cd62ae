// What comes of a task: kept while it is asked for and done,
// written as a row when it is over, or when the simulation ends before it is.
#pragma once

#include <optional>

#include "libsim/kernel/time.hpp"
#include "libsim/record/kinds.hpp"

namespace farrowtide {

class RoomRecords;
struct WorkOrder;

class TaskRecord {
 public:
  // Records and order must outlive it.
  TaskRecord(RoomRecords& records, const WorkOrder& order) : records_(records), order_(order) {}
  TaskRecord(const TaskRecord&) = delete;
  TaskRecord& operator=(const TaskRecord&) = delete;
  ~TaskRecord();

  std::optional<Time> started, done;
  double minutes = 0;     // worked
  int interruptions = 0;  // times the person was called away, or left the rest to the next shift
  TaskOutcome outcome = TaskOutcome::undone;
  bool called_off = false;  // nobody needed it any more: there is no row

 private:
  RoomRecords& records_;
  const WorkOrder& order_;
};

}  // namespace farrowtide
