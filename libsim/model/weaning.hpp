// The end of a sow's stay, by weaning of her litter or by her death,
// and the expected performance in her next cycle.
#pragma once

#include "libsim/record/kinds.hpp"

namespace farrowtide {

class FarrowingRoom;
struct Sow;

void wean(FarrowingRoom& room, Sow& sow, SowFate fate);  // weaned, or weaned_late
void leave(FarrowingRoom& room, Sow& sow, SowFate fate);

}  // namespace farrowtide
