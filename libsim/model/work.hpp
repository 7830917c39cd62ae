// The work of the staff: orders for visits, and the process that carries them out.
#pragma once

#include <optional>
#include <vector>

#include "libsim/model/farrowing_room.hpp"

namespace farrowtide {

// One visit of a task: a sow and the minutes of work with her. Without a sow: work on an empty crate or on the room.
struct Visit {
  Sow* sow = nullptr;
  double minutes = 0;
  double share = 1;                   // share of the task done at this visit
  std::vector<Piglet*> piglets = {};  // piglets brought to her
  std::optional<Time> started = {}, done = {};
  VisitOutcome outcome = VisitOutcome::undone;  // so far
};

// A task for one person, visit by visit.
struct WorkOrder {
  TaskKind kind{};
  Time asked, due;
  std::optional<Time> give_up;           // abandoned if nobody has started by then
  std::optional<Duration> feeding_time;  // time of day, for feeding tasks
  std::vector<Visit> visits;
  int* people_at_it = nullptr;  // counts those who are working on it, also while an urgent task interrupts them
};

// An order for a task with one sow, requested now.
WorkOrder work_order(FarrowingRoom& room, TaskKind kind, Sow& sow);

// An order requested now, without visits yet; the rules of the task kind set when it is due and when it is given up.
WorkOrder empty_order(FarrowingRoom& room, TaskKind kind);

// Adds a visit and draws its minutes; `animals` is the number of piglets for tasks timed per piglet.
void add_visit(FarrowingRoom& room, WorkOrder& order, Sow& sow, int animals = 1);

// Adds a piglet and its recipient sow to a foster move.
void add_move(FarrowingRoom& room, WorkOrder& order, Piglet& piglet, Sow& to);

// Draws the minutes of one task, keyed by the entity it is for and the occasion.
double drawn_minutes(const FarrowingRoom& room, TaskKind kind, std::uint32_t entity, std::uint32_t occasion);

// One person carries out the order: waits in the queue for staff, makes visit after visit, and may be interrupted. At
// the end of a shift the current visit is finished and the rest is queued again. Writes the row of the task.
Process<> carry_out(FarrowingRoom& room, WorkOrder order);

// Starts a process that carries out the order; an order without visits is dropped.
ProcessRef ask_staff(FarrowingRoom& room, WorkOrder order, Order home = Order::task);

}  // namespace farrowtide
