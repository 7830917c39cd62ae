// Scours of a litter: when it breaks out, by itself or with a piglet that is moved in,
// and at midnight which piglets are over it.
#pragma once

#include "libsim/kernel/process.hpp"

namespace farrowtide {

class FarrowingRoom;
struct Sow;

Process<> scour(FarrowingRoom& room, Sow& sow);
void break_out(FarrowingRoom& room, Sow& sow);
void let_scours_pass(FarrowingRoom& room, Sow& sow);

}  // namespace farrowtide
