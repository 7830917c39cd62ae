// Moves of piglets between sows, and the burdens and disease they carry with them.
// Planned and prescribed moves have the same effects.
#pragma once

#include "libsim/kernel/process.hpp"
#include "libsim/model/farm_settings.hpp"

namespace farrowtide {

class FarrowingRoom;
struct Sow;
struct Piglet;

// False if the piglet has died or the sow does not accept it.
bool move_piglet(FarrowingRoom& room, Piglet& piglet, Sow& to);
Process<> move_as_prescribed(FarrowingRoom& room, PrescribedMove move);

}  // namespace farrowtide
