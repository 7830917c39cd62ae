#include "libsim/model/task_handlers.hpp"

#include <algorithm>
#include <array>

#include "libsim/model/appetite_of_day.hpp"
#include "libsim/model/attending.hpp"
#include "libsim/model/drinking.hpp"
#include "libsim/model/farrowing_room.hpp"
#include "libsim/model/labour.hpp"
#include "libsim/model/moving.hpp"
#include "libsim/model/recovering.hpp"
#include "libsim/model/scouring.hpp"
#include "libsim/model/troughs.hpp"
#include "libsim/model/work.hpp"

namespace farrowtide {
namespace {

void process_litter(FarrowingRoom& room, Sow& sow, double share) {
  const int day = sow.lactation_day(room.now().day());
  const HandlingEffect& handling = room.biology.handling;
  sow.litter.processed += share;
  if (handling.is_late_processing(day)) {
    sow.litter.set_back_until = room.now() + Duration::from_days(handling.late_processing_lasts_d());
  }
  disturb(room, sow, handling.processing_drop_multiplier(day));
}

void teach(FarrowingRoom& room, Sow& sow) {
  ++sow.water.times_taught;
  room.records.event(room.now(), EventKind::gilt_trained, sow.number);
  sow.trained.reach();
}

// Once standing, she drinks, dungs and perhaps eats, and staff see her trough, her drinker and how she stands.
void make_stand_up(FarrowingRoom& room, Sow& sow) {
  room.records.event(room.now(), EventKind::stood_up, sow.number);
  sow.feeding.stood_up_at = room.now();
  ++sow.feeding.times_stood_up;
  sow.water.drunk_standing_l += room.biology.standing_up.drinks_l() * water_access(room, sow);
  look_at_standing_sow(room, sow);
  sow.feed_arrived.fire();
}

void bring_piglets(FarrowingRoom& room, const WorkOrder&, const Visit& visit) {
  for (Piglet* piglet : visit.piglets) move_piglet(room, *piglet, *visit.sow);
  disturb(room, *visit.sow, 1);
}

void leave_labour(FarrowingRoom& room, Sow& sow) {
  --sow.labour.people_present;
  look_at_labour(room, sow);
}

void end_exam(FarrowingRoom&, Sow& sow) {
  --sow.labour.people_present;
  sow.labour.exam_asked = false;
}

void remove_dead_piglets(FarrowingRoom&, Sow& sow) { sow.litter.dead_to_remove = 0; }

bool has_left(const FarrowingRoom&, Sow& sow) { return sow.left.reached(); }

bool is_not_in_labour(const FarrowingRoom& room, Sow& sow) { return !sow.in_labour(room.clock.now()); }

bool nobody_is_in_labour(const FarrowingRoom& room, Sow&) {
  return std::ranges::none_of(room.sows, [&](const Sow& sow) { return sow.in_labour(room.clock.now()); });
}

// Whoever stays has seen to every piglet as it was born, and now looks for sows that need help.
void end_of_watch(FarrowingRoom& room, const WorkOrder&, const Visit&) {
  for (Sow& sow : room.sows) {
    if (!sow.in_labour(room.now())) continue;
    sow.labour.last_look = room.now();
    look_at_labour(room, sow);
  }
}

// An exam is called off if the sow no longer needs it.
bool needs_no_exam(const FarrowingRoom& room, Sow& sow) {
  if (needs_exam(room, sow)) return false;
  sow.labour.exam_asked = false;
  return true;
}

template <void (*act)(FarrowingRoom&, Sow&)>
void to_sow(FarrowingRoom& room, const WorkOrder&, const Visit& visit) {
  act(room, *visit.sow);
}

void only_minutes(FarrowingRoom&, const WorkOrder&, const Visit&) {}  // tasks that only take time

void pour_feed(FarrowingRoom& room, const WorkOrder& order, const Visit& visit) {
  feed(room, *visit.sow, *order.feeding_time);
}

void clean_trough(FarrowingRoom& room, const WorkOrder& order, const Visit& visit) {
  clean(room, *visit.sow, order.feeding_time);
}

void process_piglets(FarrowingRoom& room, const WorkOrder&, const Visit& visit) {
  process_litter(room, *visit.sow, visit.share);
}

constexpr auto handlers = [] {
  using enum TaskKind;
  return std::to_array<TaskHandler>({
      {load_sow, to_sow<see_her_walk>, has_left},
      {train_gilt, to_sow<teach>, has_left},
      {pre_farrow_look, to_sow<look_at_eating>, has_left},
      {feed_by_hand, pour_feed, has_left},
      {feed_by_drop, to_sow<look_after_drops>, has_left},
      {trough_clean, clean_trough, has_left},
      {trough_check, to_sow<check_trough>, has_left},
      {drinker_check, to_sow<check_drinker>, has_left},
      {stand_up, to_sow<make_stand_up>, has_left},
      {daily_look, to_sow<look_for_signs>, has_left},
      {farrowing_round, to_sow<leave_labour>, is_not_in_labour, come_to_labour},
      {assist, to_sow<end_exam>, needs_no_exam, come_to_examine},
      {newborn_care, to_sow<care_for_newborn>, has_left},
      {temperature_check, to_sow<take_temperature>, has_left},
      {treat_sow, to_sow<treat>, has_left},
      {treat_litter, to_sow<treat_scours>, has_left},
      {foster_move, bring_piglets, has_left},
      {processing, process_piglets, has_left},
      {remove_dead, to_sow<remove_dead_piglets>, has_left},
      {wean, only_minutes, has_left},
      {wash, only_minutes, has_left},
      {set_up, only_minutes, has_left},
      {records, only_minutes, has_left},
      {full_access_top_up, pour_feed, has_left},
      {farrowing_watch, end_of_watch, nobody_is_in_labour},
  });
}();
static_assert(std::ranges::equal(handlers, task_catalogue, {}, &TaskHandler::kind, &TaskFacts::kind));

}  // namespace

const TaskHandler& handler_of(TaskKind kind) { return handlers.at(static_cast<std::size_t>(kind)); }

}  // namespace farrowtide
