// The appetite of the day: what a sow would eat today. It is set at midnight and at the last birth, and updated when
// health, water supply or handling change. What is unmet at midnight is carried over to the next day.
#pragma once

namespace farrowtide {

class FarrowingRoom;
struct Sow;

// Adds the heat of the day that ends to what she remembers of heat. Called at midnight.
void remember_heat(const FarrowingRoom& room, Sow& sow);
// Sets her appetite for the day that begins, or for the rest of the farrowing day.
void set_appetite(FarrowingRoom& room, Sow& sow);
// What staff expect such a sow to eat in a day with edible feed always available: a healthy sow of her parity,
// condition and litter size in the present climate, without what is her own [kg/d].
double usual_appetite_kg(const FarrowingRoom& room, const Sow& sow, int lactation_day);
// Recalculates her appetite after a change within the day.
void change_appetite(FarrowingRoom& room, Sow& sow);
// Carries unmet appetite over to the next day. Called at midnight.
void carry_pool_over(FarrowingRoom& room, Sow& sow);

// Handling her litter reduces her appetite for some hours; `drop_multiplier` scales the default reduction.
void disturb(FarrowingRoom& room, Sow& sow, double drop_multiplier);

// Milk energy her litter would draw in a full day if she were well fed in a cool room [Mcal].
double own_milk_potential_mcal(const FarrowingRoom& room, const Sow& sow, int lactation_day);

}  // namespace farrowtide
