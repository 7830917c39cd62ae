// Meals, from loading until the sow leaves: her appetite builds up over the day according to the appetite clock,
// and she eats when it has reached a meal's worth and there is feed in the trough.
#pragma once

#include "libsim/kernel/process.hpp"

namespace farrowtide {

class FarrowingRoom;
struct Sow;

Process<> eat(FarrowingRoom& room, Sow& sow);

// Appetite at which she starts her next meal of her own accord [kg].
double pending_meal_kg(const FarrowingRoom& room, Sow& sow);

}  // namespace farrowtide
