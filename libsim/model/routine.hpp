// The work that the clock asks for: feeds, rounds, the morning's work, plans of moves.
// Each is a process of the whole room.
#pragma once

#include "libsim/kernel/process.hpp"

namespace farrowtide {

class FarrowingRoom;

Process<> feed_by_the_clock(FarrowingRoom& room);
Process<> go_round_farrowings(FarrowingRoom& room);
Process<> daily_routine(FarrowingRoom& room);
Process<> look_at_machines(FarrowingRoom& room);
Process<> go_round_standing_up(FarrowingRoom& room);
Process<> foster_by_plan(FarrowingRoom& room);

}  // namespace farrowtide
