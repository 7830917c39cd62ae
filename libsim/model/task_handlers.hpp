// What people do to a sow by the kind of task: a row each, in the order of the catalogue of tasks.
#pragma once

#include "libsim/record/task_catalogue.hpp"

namespace farrowtide {

class FarrowingRoom;
struct Sow;
struct Visit;
struct WorkOrder;

struct TaskHandler {
  TaskKind kind;
  void (*end)(FarrowingRoom&, const WorkOrder&, const Visit&);  // of a visit to a sow that is still there
  bool (*is_called_off)(const FarrowingRoom&, Sow&);            // before somebody goes to her
  void (*come)(FarrowingRoom&, Sow&) = nullptr;                 // as somebody comes to her
};

const TaskHandler& handler_of(TaskKind kind);

}  // namespace farrowtide
