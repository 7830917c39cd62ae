// Feed and troughs: the work requested at a feeding time, automatic feed drops,
// and the effects of visits to a trough.
#pragma once

#include <optional>

#include "libsim/kernel/time.hpp"

namespace farrowtide {

class FarrowingRoom;
struct Sow;

void ask_for_feeding(FarrowingRoom& room, Duration feeding_time);
void drop_feed(FarrowingRoom& room, Duration feeding_time);

// The effects of visits.
void feed(FarrowingRoom& room, Sow& sow, Duration feeding_time);
void clean(FarrowingRoom& room, Sow& sow, std::optional<Duration> feeding_time);
void check_trough(FarrowingRoom& room, Sow& sow);
void look_after_drops(FarrowingRoom& room, Sow& sow);

}  // namespace farrowtide
