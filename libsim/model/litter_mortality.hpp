// The deaths of a litter, from the first birth to weaning, and who nurses whom.
// Each piglet has a threshold for each cause; the litter's hazards run against them.
#pragma once

#include "libsim/kernel/process.hpp"
#include "libsim/model/litter/survival.hpp"

namespace farrowtide {

class FarrowingRoom;
struct Sow;
struct Piglet;

Process<> litter_mortality(FarrowingRoom& room, Sow& sow);

// Deals with the deaths up to now; the hazards are set anew within the same second.
void settle_litter(FarrowingRoom& room, Sow& sow);
// A piglet is born alive, or revived, and nurses its dam.
void come_alive(FarrowingRoom& room, Sow& dam, Piglet& piglet);
// A piglet begins to nurse a sow with what is left of its thresholds, or stops.
void join_litter(FarrowingRoom& room, Sow& sow, Piglet& piglet, const PerCause& thresholds_left);
PerCause leave_litter(FarrowingRoom& room, Sow& sow, Piglet& piglet);
void die(FarrowingRoom& room, Sow& sow, Piglet& piglet, DeathCause cause);

}  // namespace farrowtide
