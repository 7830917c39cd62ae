// What staff see of a sow's eating and drinking: what is gone from her trough since the morning before, how much she
// has drunk, and what is expected of such a sow. Judged without knowing how much she wanted, or whether she is ill.
#pragma once

namespace farrowtide {

class FarrowingRoom;
struct Sow;

// Takes note of her trough and water when staff first come to her on a day, before she is fed; later calls on the same
// day change nothing.
void see_intake(FarrowingRoom& room, Sow& sow);

// How her eating and drinking appear this morning. A drinker that gives nothing explains an untouched trough.
enum class IntakeFinding { as_expected, drinker_is_dry, off_feed_or_water };
IntakeFinding intake_finding(const FarrowingRoom& room, const Sow& sow);

}  // namespace farrowtide
