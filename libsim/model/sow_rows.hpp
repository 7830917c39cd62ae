// The output rows of a sow, built from her state and written once the group has left.
// Rows are written and never read; no other header of the model depends on their contents.
#pragma once

namespace farrowtide {

class FarrowingRoom;
struct Sow;

// Writes the rows of the piglets born to her, of her days and her own; checks that the piglet counts balance.
void write_rows(FarrowingRoom& room, const Sow& sow);

}  // namespace farrowtide
