// Moves of piglets from sow to sow, and what they carry with them;
// whether they were planned or prescribed makes no difference.
#pragma once

#include "libsim/kernel/process.hpp"
#include "libsim/model/farm_settings.hpp"

namespace farrowtide {

class FarrowingRoom;
struct Sow;
struct Piglet;

// False if the piglet has died or the sow refuses.
bool move_piglet(FarrowingRoom& room, Piglet& piglet, Sow& to);
Process<> move_as_prescribed(FarrowingRoom& room, PrescribedMove move);

}  // namespace farrowtide
