// Meals: appetite comes along the clock of the day, and she eats when there is enough of it and of feed.
// From loading until she leaves.
#pragma once

#include "libsim/kernel/process.hpp"

namespace farrowtide {

class FarrowingRoom;
struct Sow;

Process<> eat(FarrowingRoom& room, Sow& sow);

// Appetite at which she starts her next meal by herself [kg].
double pending_meal_kg(const FarrowingRoom& room, Sow& sow);

}  // namespace farrowtide
