// The rows a sow leaves: built from her state when the group has left, and written.
// A row is written and never read; no other header of the model knows what a row holds.
#pragma once

namespace farrowtide {

class FarrowingRoom;
struct Sow;

// Those of the piglets born of her, of her days and her own; checks that her litter adds up.
void write_rows(FarrowingRoom& room, const Sow& sow);

}  // namespace farrowtide
