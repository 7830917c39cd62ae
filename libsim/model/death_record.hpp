// The record of a death: what the hazard was made of at that moment. Built only where causes are recorded.
#pragma once

namespace farrowtide {

class FarrowingRoom;
struct Sow;
struct Piglet;

// Writes the row of a piglet that dies now, while it still belongs to the litter of `sow`.
void write_death(FarrowingRoom& room, const Sow& sow, const Piglet& piglet);

}  // namespace farrowtide
