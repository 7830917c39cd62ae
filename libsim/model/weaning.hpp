// The end of a sow's stay, with her litter weaned or by her death: what it came to,
// and the rows it leaves.
#pragma once

#include "libsim/record/kinds.hpp"

namespace farrowtide {

class FarrowingRoom;
struct Sow;

void wean(FarrowingRoom& room, Sow& sow);
void leave(FarrowingRoom& room, Sow& sow, SowFate fate);

// Her rows and those of the piglets born of her, when the group has left.
void write_rows(FarrowingRoom& room, Sow& sow);

}  // namespace farrowtide
