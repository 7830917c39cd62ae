// Scours in a litter: its onset, spontaneous or brought in by a fostered piglet,
// and the recovery of piglets at midnight.
#pragma once

#include "libsim/kernel/process.hpp"

namespace farrowtide {

class FarrowingRoom;
struct Sow;

Process<> scour(FarrowingRoom& room, Sow& sow);
void break_out(FarrowingRoom& room, Sow& sow);
// Treatment of the litter: its piglets are well again sooner.
void treat_scours(FarrowingRoom& room, Sow& sow);
void let_scours_pass(FarrowingRoom& room, Sow& sow);

}  // namespace farrowtide
