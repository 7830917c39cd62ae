// Water: a drinker may clog and stay so until a check finds it, and a first-parity sow may have to learn where to drink
// and where to eat. All of this reduces her appetite.
#pragma once

#include "libsim/kernel/process.hpp"

namespace farrowtide {

class FarrowingRoom;
struct Sow;

Process<> clog(FarrowingRoom& room, Sow& sow);
Process<> learn_to_drink(FarrowingRoom& room, Sow& sow);
Process<> learn_to_eat(FarrowingRoom& room, Sow& sow);

enum class Suspicion { none, of_the_drinker };  // whether staff suspect that her water supply has failed
bool is_drinker_due(const FarrowingRoom& room, const Sow& sow, Suspicion suspicion);
void check_drinker(FarrowingRoom& room, Sow& sow);

double drinker_flow_l_per_min(const Sow& sow);                   // current flow
bool is_dry(const Sow& sow);                                     // her drinker gives no water
bool is_parched(const FarrowingRoom& room, const Sow& sow);      // has been without water long enough to stop eating
double water_access(const FarrowingRoom& room, const Sow& sow);  // 0-1; 1 once she has learned to drink
double feed_access(const FarrowingRoom& room, const Sow& sow);   // 0-1; 1 once she has learned to drink and to eat
double days_without_water(const FarrowingRoom& room,
                          const Sow& sow);               // since the drinker gave its last water; 0 if it gives
void note_drinker(const FarrowingRoom& room, Sow& sow);  // before the drinker or the day changes
double water_drunk_l(const FarrowingRoom& room, const Sow& sow, int lactation_day, double eaten_kg);  // of the day
// Drunk since a moment of yesterday or today, from the feed eaten since then [L].
double water_drunk_since_l(const FarrowingRoom& room, const Sow& sow, Time from, double eaten_kg);

}  // namespace farrowtide
