// The end of a sow's stay, with her litter weaned or by her death,
// and what is to be expected of her next cycle.
#pragma once

#include "libsim/record/kinds.hpp"

namespace farrowtide {

class FarrowingRoom;
struct Sow;

void wean(FarrowingRoom& room, Sow& sow);
void leave(FarrowingRoom& room, Sow& sow, SowFate fate);

}  // namespace farrowtide
