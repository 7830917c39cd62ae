#include "libsim/model/attending.hpp"

#include <algorithm>

#include "libsim/model/farrowing_room.hpp"
#include "libsim/model/labour.hpp"
#include "libsim/model/work.hpp"

namespace farrowtide {
namespace {

LabourView labour_view(const FarrowingRoom& room, const Sow& sow) {
  const Time now = room.clock.now();
  LabourView view{.parity = sow.traits.parity,
                  .births = sow.labour.births,
                  .exams = sow.labour.exams,
                  .since_first_birth_min = (now - sow.traits.onset).minutes(),
                  .since_last_birth_min = (now - sow.labour.last_birth).minutes()};
  if (sow.labour.last_look) view.since_last_look_min = (now - *sow.labour.last_look).minutes();
  return view;
}

// An internal exam: a skilled procedure supervised by the herd veterinarian. Its outcome is decided at the start of the
// task, and success frees the obstructed piglet; the rest of the task is spent with the sow and the newborn piglets.
void examine(FarrowingRoom& room, Sow& sow) {
  const auto number = static_cast<std::uint32_t>(sow.labour.exams++);
  const bool succeeds = room.biology.help.succeeds(room.draws.uniform(Purpose::exam_succeeds, sow.entity(), number));
  room.records.event(room.now(), EventKind::exam_made, sow.number, -1, sow.labour.exams, succeeds ? 1 : 0);
  if (succeeds) sow.helped.fire();
}

}  // namespace

bool needs_exam(const FarrowingRoom& room, const Sow& sow) {
  return sow.in_labour(room.clock.now()) && room.settings.attendance->help(labour_view(room, sow));
}

void look_at_labour(FarrowingRoom& room, Sow& sow) {
  attend_births(room, sow);
  const auto uncared =
      std::ranges::count_if(sow.litter.piglets, [](const Piglet& p) { return p.life == Life::alive && !p.cared_for; });
  const double intensity = room.settings.attendance->care_intensity();
  if (uncared > 0 && intensity > 0) {
    WorkOrder care = empty_order(room, TaskKind::newborn_care);
    add_visit(room, care, sow, static_cast<int>(uncared));
    care.visits.back().minutes *= intensity / room.biology.help.care_intensity();  // times assume default intensity
    ask_staff(room, std::move(care));
  }
  if (needs_exam(room, sow) && !sow.labour.exam_asked) {
    sow.labour.exam_asked = true;
    ask_staff(room, work_order(room, TaskKind::assist, sow));
  }
}

void come_to_labour(FarrowingRoom& room, Sow& sow) {
  ++sow.labour.people_present;
  sow.labour.last_look = room.now();
}

void come_to_examine(FarrowingRoom& room, Sow& sow) {
  come_to_labour(room, sow);
  examine(room, sow);
}

// A round visits the sows in labour that the policy selects.
void ask_for_round(FarrowingRoom& room) {
  WorkOrder round = empty_order(room, TaskKind::farrowing_round);
  for (Sow& sow : room.sows) {
    if (sow.in_labour(room.now()) && room.settings.attendance->look_at(labour_view(room, sow)))
      add_visit(room, round, sow);
  }
  ask_staff(room, std::move(round));
}

}  // namespace farrowtide
