// Midnight, once a day for the whole room: yesterday's balance of every sow and litter,
// then the room's next 24 hours and every sow's appetite.
#pragma once

#include "libsim/kernel/process.hpp"

namespace farrowtide {

class FarrowingRoom;

Process<> turn_days(FarrowingRoom& room);

}  // namespace farrowtide
