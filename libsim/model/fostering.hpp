// Fostering by plan: moves piglets between litters as the policy decides,
// and takes in a nurse sow where too many are left over.
#pragma once

namespace farrowtide {

class FarrowingRoom;

// Plans moves as things are now and asks for them.
void foster(FarrowingRoom& room);

}  // namespace farrowtide
