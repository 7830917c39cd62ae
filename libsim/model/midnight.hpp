// The daily update of the room at midnight: yesterday's balance of every sow and litter,
// then the room climate of the next 24 hours and every sow's appetite.
#pragma once

#include "libsim/kernel/process.hpp"

namespace farrowtide {

class FarrowingRoom;

Process<> turn_days(FarrowingRoom& room);

}  // namespace farrowtide
