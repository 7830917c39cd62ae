// Planned fostering: moves piglets between litters as the policy decides,
// and brings in a nurse sow if too many piglets are left without a teat.
#pragma once

namespace farrowtide {

class FarrowingRoom;

// Plans moves from the current state of the litters and requests them from the staff.
void foster(FarrowingRoom& room);

}  // namespace farrowtide
