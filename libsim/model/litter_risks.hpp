// What the hazards of a litter rest on now: the inputs of Survival, read from the state of the room.
#pragma once

#include "libsim/model/litter/survival.hpp"

namespace farrowtide {

class FarrowingRoom;
struct Sow;
struct Piglet;

// Of all piglets born to `dam`.
BirthRisk birth_risk(const Sow& dam);
// Of all piglets that nurse `sow`.
RearingRisk rearing_risk(const FarrowingRoom& room, const Sow& sow);
// Of one piglet that nurses `sow`; `litter_kg`: the weight of her litter.
PigletRisk piglet_risk(const FarrowingRoom& room, const Sow& sow, const Piglet& piglet, double litter_kg, double age_d);

}  // namespace farrowtide
