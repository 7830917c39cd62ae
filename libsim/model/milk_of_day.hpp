// The milk of a sow's day, and how her piglets share what they gain from it.
#pragma once

#include <vector>

namespace farrowtide {

class FarrowingRoom;
struct Sow;
struct Piglet;

struct DayOfMilk {
  double milk_mcal = 0, potential_mcal = 0, gain_kg = 0;
  std::vector<double> gain_of_piglets_kg;  // less than gain_kg in all if the litter is set back
};

// Milk that no piglet takes is not made. Updates what she was asked for and how short of milk her litter is.
// What it leaves because its piglets scour is not made either.
DayOfMilk day_of_milk(const FarrowingRoom& room, Sow& sow, int lactation_day, double eaten_kg);

// The gain that a piglet lacks for the scours that it or its litter has had [kg/d].
double lost_to_scours_kg(const FarrowingRoom& room, const Sow& sow, const Piglet& piglet, int lactation_day);

}  // namespace farrowtide
