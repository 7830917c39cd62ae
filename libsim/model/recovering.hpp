// After the last birth: the placenta, the post-partum disorder, and its detection and treatment by staff.
// Diagnosis and treatment are the responsibility of the herd veterinarian.
#pragma once

#include "libsim/kernel/process.hpp"

namespace farrowtide {

class FarrowingRoom;
struct Sow;

Process<> recover(FarrowingRoom& room, Sow& sow);
Process<> have_temperature_taken(FarrowingRoom& room, Sow& sow);

// The effects of visits to her.
bool is_made_to_stand(const FarrowingRoom& room, const Sow& sow);      // on the rounds of the policy
double constipation_score(const FarrowingRoom& room, const Sow& sow);  // now; standing up relieves it

void take_temperature(FarrowingRoom& room, Sow& sow);
void look_at_eating(FarrowingRoom& room, Sow& sow);  // and drinking, before she has farrowed
void look_at_standing_sow(FarrowingRoom& room, Sow& sow);
void look_for_signs(FarrowingRoom& room, Sow& sow);
void flag(FarrowingRoom& room, Sow& sow);  // at her trough check
void treat(FarrowingRoom& room, Sow& sow);
void see_her_walk(FarrowingRoom& room, Sow& sow);

}  // namespace farrowtide
