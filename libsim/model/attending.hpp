// Attendance at farrowing: rounds of the sows in labour, obstetric exams and newborn care,
// as the attendance policy requires.
#pragma once

namespace farrowtide {

class FarrowingRoom;
struct Sow;

void ask_for_round(FarrowingRoom& room);
void come_to_labour(FarrowingRoom& room, Sow& sow);
void come_to_examine(FarrowingRoom& room, Sow& sow);
void look_at_labour(FarrowingRoom& room, Sow& sow);
bool needs_exam(const FarrowingRoom& room, const Sow& sow);

}  // namespace farrowtide
