// After the last birth: placenta, post-partum disorder, and what people find and do about it.
// Diagnosis and treatment are the herd veterinarian's.
#pragma once

#include "libsim/kernel/process.hpp"

namespace farrowtide {

class FarrowingRoom;
struct Sow;

Process<> recover(FarrowingRoom& room, Sow& sow);
Process<> have_temperature_taken(FarrowingRoom& room, Sow& sow);

// What visits to her do.
void take_temperature(FarrowingRoom& room, Sow& sow);
void look_for_signs(FarrowingRoom& room, Sow& sow);
void flag(FarrowingRoom& room, Sow& sow);  // her trough was untouched
void treat(FarrowingRoom& room, Sow& sow);

}  // namespace farrowtide
