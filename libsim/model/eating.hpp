// Meals, from loading until the sow leaves: her appetite builds up over the day according to the appetite clock,
// and she eats when it has reached a meal's worth and there is feed in the trough that she accepts.
#pragma once

#include "libsim/kernel/process.hpp"
#include "libsim/kernel/time.hpp"

namespace farrowtide {

class FarrowingRoom;
struct Sow;

Process<> eat(FarrowingRoom& room, Sow& sow);

// Appetite at which she starts her next meal of her own accord [kg].
double pending_meal_kg(const FarrowingRoom& room, Sow& sow);

// Appetite accumulated and not met by now [kg]; what has found no acceptable feed is gradually forgotten. The second
// form is for the midnight that ends the day: `midnight` is the one before.
double hunger_kg(const FarrowingRoom& room, Sow& sow);
double hunger_kg(const FarrowingRoom& room, Sow& sow, Time midnight);

}  // namespace farrowtide
