// Labour birth by birth, from onset to the last birth, with the effect of assistance, and the start of lactation.
// A stillborn piglet may be revived if somebody comes in time.
#pragma once

#include "libsim/kernel/process.hpp"

namespace farrowtide {

class FarrowingRoom;
struct Sow;

Process<> farrow(FarrowingRoom& room, Sow& sow);

// Somebody is with her: savable piglets may be revived, and recent births count as attended.
void attend_births(FarrowingRoom& room, Sow& sow);
void care_for_newborn(FarrowingRoom& room, Sow& sow);

// Draws the frailties that her litter's survival depends on; starts lactation, counted from the day of the last birth.
void draw_frailty(FarrowingRoom& room, Sow& sow);
void begin_lactation(FarrowingRoom& room, Sow& sow);

}  // namespace farrowtide
