// Scheduled work: feedings, rounds, the morning routine and fostering plans.
// Each is one process for the whole room.
#pragma once

#include "libsim/kernel/process.hpp"

namespace farrowtide {

class FarrowingRoom;

Process<> feed_by_the_clock(FarrowingRoom& room);
Process<> go_round_farrowings(FarrowingRoom& room);
Process<> stay_with_farrowings(FarrowingRoom& room);
Process<> daily_routine(FarrowingRoom& room);
Process<> look_at_machines(FarrowingRoom& room);
Process<> go_round_standing_up(FarrowingRoom& room);
Process<> foster_by_plan(FarrowingRoom& room);

}  // namespace farrowtide
