// Labour, birth by birth: from its onset to the last birth, with what help changes, and the start of lactation.
// Who is born dead may be revived by somebody who comes in time.
#pragma once

#include "libsim/kernel/process.hpp"

namespace farrowtide {

class FarrowingRoom;
struct Sow;

Process<> farrow(FarrowingRoom& room, Sow& sow);

// Somebody came to her: savable piglets may be revived, newborn ones count as attended.
void attend_births(FarrowingRoom& room, Sow& sow);
void care_for_newborn(FarrowingRoom& room, Sow& sow);

// What her litter's survival owes to her and to itself, and lactation from the day of her last birth.
void draw_frailty(FarrowingRoom& room, Sow& sow);
void begin_lactation(FarrowingRoom& room, Sow& sow);

}  // namespace farrowtide
