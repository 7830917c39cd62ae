// What a sow would eat today: set at midnight and at the last birth, changed when health, water or handling change.
// What came of it and was not eaten by midnight goes over to the next day, in part.
#pragma once

namespace farrowtide {

class FarrowingRoom;
struct Sow;

// Of the day that begins, or of what is left of the farrowing day.
void set_appetite(FarrowingRoom& room, Sow& sow);
// Anew, when something changed it within the day.
void change_appetite(FarrowingRoom& room, Sow& sow);
// At midnight.
void carry_pool_over(FarrowingRoom& room, Sow& sow);

// Handling of her litter costs appetite for some hours; as a multiple of what it usually costs.
void disturb(FarrowingRoom& room, Sow& sow, double drop_multiplier);

// Milk that her litter would draw from her on a whole day, were she well fed in a cool room [Mcal].
double own_milk_potential_mcal(const FarrowingRoom& room, const Sow& sow, int lactation_day);

}  // namespace farrowtide
