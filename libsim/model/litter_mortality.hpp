// Piglet deaths from the first birth to weaning, and which sow nurses which piglet.
// Each piglet has a threshold per cause of death; it dies when a cumulative hazard reaches its threshold.
#pragma once

#include "libsim/kernel/process.hpp"
#include "libsim/model/litter/survival.hpp"

namespace farrowtide {

class FarrowingRoom;
struct Sow;
struct Piglet;

Process<> litter_mortality(FarrowingRoom& room, Sow& sow);

// Applies all deaths due by now; the hazards are recalculated within the same second.
void settle_litter(FarrowingRoom& room, Sow& sow);
// A piglet is born alive or is revived, and starts to nurse its dam.
void come_alive(FarrowingRoom& room, Sow& dam, Piglet& piglet);
// A piglet starts to nurse a sow with what remains of its thresholds, or stops; then the remainder is returned.
void join_litter(FarrowingRoom& room, Sow& sow, Piglet& piglet, const PerCause& thresholds_left);
PerCause leave_litter(FarrowingRoom& room, Sow& sow, Piglet& piglet);
void die(FarrowingRoom& room, Sow& sow, Piglet& piglet, DeathCause cause);

}  // namespace farrowtide
