// The work of the room's people: who is to be visited for what, and what a visit does to the animal.
#pragma once

#include <optional>
#include <vector>

#include "libsim/model/farrowing_room.hpp"

namespace farrowtide {

// One stop of a task: a sow and the minutes of work with her. Without a sow: work on an empty crate or for the room.
struct Visit {
  Sow* sow = nullptr;
  double minutes = 0;
  double share = 1;                   // of the task that is done at this visit
  std::vector<Piglet*> piglets = {};  // that are brought to her
};

// Something a person is asked to do, visit by visit.
struct WorkOrder {
  TaskKind kind{};
  Time asked, due;
  std::optional<Time> give_up;           // it is left undone if nobody could start by then
  std::optional<Duration> feeding_time;  // clock time of the feeds, where it is about feed
  std::vector<Visit> visits;
};

// An order to do something for one sow now.
WorkOrder work_order(FarrowingRoom& room, TaskKind kind, Sow& sow);

// An order without visits yet, due as the task's rule says.
WorkOrder empty_order(FarrowingRoom& room, TaskKind kind);

// Adds a visit with its drawn minutes; `animals` is how many piglets it is about, where the time goes by piglets.
void add_visit(FarrowingRoom& room, WorkOrder& order, Sow& sow, int animals = 1);

// Adds to a foster move the piglet and the sow it is to be brought to.
void add_move(FarrowingRoom& room, WorkOrder& order, Piglet& piglet, Sow& to);

// Minutes of one task, drawn by whom it is for, the day and its order within the day.
double drawn_minutes(const FarrowingRoom& room, TaskKind kind, std::uint32_t entity, std::uint32_t occasion);

// One person does the order: waits for a turn, goes from visit to visit, may be called away. At the end of the shift
// the visit in hand is finished and the rest waits for the next one. The row of the task is written.
Process<> carry_out(FarrowingRoom& room, WorkOrder order);

// Somebody is to carry out the order, in a process of its own; an order without visits is dropped.
ProcessRef ask_staff(FarrowingRoom& room, WorkOrder order, Order home = Order::task);

}  // namespace farrowtide
