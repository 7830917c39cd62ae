// A sow may die in the room, which ends her stay;
// her piglets are then brought to other sows.
#pragma once

#include "libsim/kernel/process.hpp"

namespace farrowtide {

class FarrowingRoom;
struct Sow;

Process<> sow_mortality(FarrowingRoom& room, Sow& sow, ProcessRef her_stay);

}  // namespace farrowtide
