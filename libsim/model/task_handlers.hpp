// The effect of each kind of task on a sow: one row per kind, in the order of the task catalogue.
#pragma once

#include "libsim/record/task_catalogue.hpp"

namespace farrowtide {

class FarrowingRoom;
struct Sow;
struct Visit;
struct WorkOrder;

struct TaskHandler {
  TaskKind kind;
  void (*end)(FarrowingRoom&, const WorkOrder&, const Visit&);  // at the end of a visit, if the sow is still there
  bool (*is_called_off)(const FarrowingRoom&, Sow&);            // checked before the visit
  void (*come)(FarrowingRoom&, Sow&) = nullptr;                 // at the start of the visit
};

const TaskHandler& handler_of(TaskKind kind);

}  // namespace farrowtide
