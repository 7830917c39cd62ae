// Water: a drinker may clog and is found by a check; a first-parity sow may have to learn where to drink and eat.
// Either costs water, and with it appetite.
#pragma once

#include "libsim/kernel/process.hpp"

namespace farrowtide {

class FarrowingRoom;
struct Sow;

Process<> clog(FarrowingRoom& room, Sow& sow);
Process<> learn(FarrowingRoom& room, Sow& sow);

enum class Suspicion { none, of_the_drinker };  // that something is wrong with her water
bool is_drinker_due(const FarrowingRoom& room, const Sow& sow, Suspicion suspicion);
void check_drinker(FarrowingRoom& room, Sow& sow);

double drinker_flow_l_per_min(const Sow& sow);                   // as it runs now
bool is_parched(const FarrowingRoom& room, const Sow& sow);      // without water for so long that she stops eating
double water_access(const FarrowingRoom& room, const Sow& sow);  // 0-1, until she has learned
double water_drunk_l(const FarrowingRoom& room, const Sow& sow, int lactation_day, double eaten_kg);  // in a day

}  // namespace farrowtide
