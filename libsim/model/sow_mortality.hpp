// Sow mortality: the death of a sow ends her stay,
// and her piglets are moved to other sows.
#pragma once

#include "libsim/kernel/process.hpp"

namespace farrowtide {

class FarrowingRoom;
struct Sow;

Process<> sow_mortality(FarrowingRoom& room, Sow& sow, ProcessRef her_stay);

}  // namespace farrowtide
