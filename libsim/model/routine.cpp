#include "libsim/model/routine.hpp"

#include <algorithm>
#include <string>

#include "libsim/kernel/errors.hpp"
#include "libsim/kernel/first_of.hpp"
#include "libsim/model/attending.hpp"
#include "libsim/model/drinking.hpp"
#include "libsim/model/farm.hpp"
#include "libsim/model/farrowing_room.hpp"
#include "libsim/model/fostering.hpp"
#include "libsim/model/recovering.hpp"
#include "libsim/model/troughs.hpp"
#include "libsim/model/work.hpp"

namespace farrowtide {
namespace {

bool is_empty(const FarrowingRoom& room) {
  return std::ranges::all_of(room.sows, [](const Sow& sow) { return sow.left.reached(); });
}

// When the first shift of the day starts.
std::optional<Time> begin_of_work(const FarrowingRoom& room, int day) {
  const Time midnight = Time{} + day * 1_d;
  const auto first = std::ranges::lower_bound(room.farm.duties, midnight, {}, &Duty::begin);
  if (first == room.farm.duties.end() || first->begin.day() > day) return std::nullopt;
  return std::max(first->begin, room.now());
}

bool is_to_be_taught(const FarrowingRoom& room, const Sow& sow, int today) {
  if (sow.traits.parity != 1) return false;
  return room.settings.loading->teach({.days_in_room = room.day_of_group(today),
                                       .times_taught = sow.water.times_taught,
                                       .eaten_since_yesterday_kg = sow.days.empty() ? 0 : sow.days.back().eaten_kg});
}

// Adds the share of the processing that is due by today, including any backlog; each visit after the first needs extra
// time to catch the piglets again.
void ask_for_processing(FarrowingRoom& room, WorkOrder& order, Sow& sow, int today) {
  Litter& litter = sow.litter;
  const int piglets = litter.nursing();
  for (int& day = litter.processing_planned_to_day; day < sow.lactation_day(today); ++day)
    litter.processing_due +=
        room.settings.handling->share_of_processing({.lactation_day = day + 1, .piglets = piglets});
  constexpr double rounding = 1e-9;
  if (litter.processing_due > 1 + rounding)
    throw UserError("the handling policy processes more than the whole of a litter: its shares add up to " +
                    std::to_string(litter.processing_due));
  const double share = litter.processing_due - litter.processed;
  if (share <= rounding || piglets == 0) return;
  add_visit(room, order, sow, piglets);
  Visit& visit = order.visits.back();
  visit.share = share;
  visit.minutes *= share;
  if (litter.processed > 0) visit.minutes += piglets * room.biology.task_times.catch_piglet_minutes();
}

// Teaching begins when the sows are in their crates.
void ask_for_first_lessons(FarrowingRoom& room) {
  WorkOrder lessons = empty_order(room, TaskKind::train_gilt);
  for (Sow& sow : room.sows) {
    if (is_to_be_taught(room, sow, room.group.loading_day)) add_visit(room, lessons, sow);
  }
  ask_staff(room, std::move(lessons));
}

// Requests the work of a morning, one order per kind of task.
void ask_for_daily_work(FarrowingRoom& room, int today) {
  using enum TaskKind;
  std::vector<WorkOrder> orders;
  for (const TaskKind kind :
       {train_gilt, drinker_check, trough_check, pre_farrow_look, daily_look, processing, treat_litter, remove_dead})
    orders.push_back(empty_order(room, kind));
  const auto order = [&](TaskKind kind) -> WorkOrder& { return *std::ranges::find(orders, kind, &WorkOrder::kind); };
  for (Sow& sow : room.sows) {
    if (sow.left.reached()) continue;
    const Litter& litter = sow.litter;
    const bool farrowed = sow.farrowed.reached();
    if (is_to_be_taught(room, sow, today)) add_visit(room, order(train_gilt), sow);
    if (is_drinker_due(room, sow, Suspicion::none)) {
      sow.water.drinker_asked_day = today;
      add_visit(room, order(drinker_check), sow);
    }
    if (farrowed && sow.lactation_day(today) > 0 && room.settings.feeding->checks_troughs())
      add_visit(room, order(trough_check), sow);
    add_visit(room, order(farrowed ? daily_look : pre_farrow_look), sow);
    if (litter.dead_to_remove > 0) add_visit(room, order(remove_dead), sow, litter.dead_to_remove);
    if (litter.scouring() > 0) add_visit(room, order(treat_litter), sow, litter.scouring());
    if (farrowed) ask_for_processing(room, order(processing), sow, today);
  }
  for (WorkOrder& one : orders) ask_staff(room, std::move(one));
}

// Requests work on empty crates or on the room as a whole.
void ask_for_work_of_the_room(FarrowingRoom& room, TaskKind kind, int crates) {
  WorkOrder order = empty_order(room, kind);
  const auto day = static_cast<std::uint32_t>(room.now().day());
  for (int crate = 1; crate <= crates; ++crate) {
    const auto entity = static_cast<std::uint32_t>(room.group.first_sow - 1 + crate);
    order.visits.push_back({nullptr, drawn_minutes(room, kind, entity, day)});
  }
  ask_staff(room, std::move(order));
}

void ask_of_all(FarrowingRoom& room, TaskKind kind) {
  WorkOrder order = empty_order(room, kind);
  for (Sow& sow : room.sows) {
    if (!sow.left.reached() && !sow.in_labour(room.now())) add_visit(room, order, sow);
  }
  ask_staff(room, std::move(order));
}

std::vector<Duration> listed(std::span<const Duration> times) { return {times.begin(), times.end()}; }

// Calls `act` at each of these times of day, on every day of the group.
Process<> at_clock_times(FarrowingRoom& room, std::vector<Duration> times, void (*act)(FarrowingRoom&, Duration)) {
  for (int day = 0; day <= room.settings.last_day(); ++day) {
    for (const Duration time : times) {
      const Time moment = room.begins + day * 1_d + time;
      if (moment < room.loading()) continue;  // the room is still empty
      co_await room.clock.until(moment);
      act(room, time);
    }
  }
}

// Drops feed by machine, or requests a feeding from the staff.
void feed_at(FarrowingRoom& room, Duration time) {
  if (room.settings.feeding->dropped_by_machine()) {
    drop_feed(room, time);
  } else {
    ask_for_feeding(room, time);
  }
}

void look_at_machine(FarrowingRoom& room, Duration) { ask_of_all(room, TaskKind::feed_by_drop); }

void make_stand_up(FarrowingRoom& room, Duration) {
  WorkOrder round = empty_order(room, TaskKind::stand_up);
  for (Sow& sow : room.sows) {
    if (!sow.left.reached() && !sow.in_labour(room.now()) && is_made_to_stand(room, sow)) add_visit(room, round, sow);
  }
  ask_staff(room, std::move(round));
}

void plan_moves(FarrowingRoom& room, Duration) { foster(room); }

}  // namespace

Process<> feed_by_the_clock(FarrowingRoom& room) {
  return at_clock_times(room, listed(room.settings.feeding->rounds()), feed_at);
}

Process<> look_at_machines(FarrowingRoom& room) {
  const std::optional<Duration> look = room.settings.feeding->machine_look_at();
  return at_clock_times(room, look ? std::vector{*look} : std::vector<Duration>{}, look_at_machine);
}

Process<> go_round_standing_up(FarrowingRoom& room) {
  return at_clock_times(room, listed(room.settings.care->stand_up_rounds()), make_stand_up);
}

Process<> foster_by_plan(FarrowingRoom& room) {
  return at_clock_times(room, listed(room.settings.fostering->times()), plan_moves);
}

Process<> go_round_farrowings(FarrowingRoom& room) {
  const std::optional<Duration> every = room.settings.attendance->round_every();
  if (!every) co_return;
  const std::vector<Duty>& at_work = room.farm.at_work;
  const auto first = std::ranges::upper_bound(at_work, room.begins, {}, &Duty::end);
  for (auto duty = first; duty != at_work.end() && duty->begin < room.end(); ++duty) {
    for (Time moment = duty->begin; moment < duty->end; moment += *every) {
      if (moment < room.now()) continue;
      co_await room.clock.until(moment);
      ask_for_round(room);
    }
  }
}

// While people are on duty and a sow is in labour, somebody stays with them, for a while at a time: whatever else waits
// by then goes first, unless it ranks lower.
Process<> stay_with_farrowings(FarrowingRoom& room) {
  if (!room.settings.attendance->stays()) co_return;
  const std::vector<Duty>& at_work = room.farm.at_work;
  const auto first = std::ranges::upper_bound(at_work, room.begins, {}, &Duty::end);
  for (auto duty = first; duty != at_work.end() && duty->begin < room.end(); ++duty) {
    if (duty->begin > room.now()) co_await room.clock.until(duty->begin);
    while (room.now() < std::min(duty->end, room.end())) {
      const auto in_labour =
          std::ranges::find_if(room.sows, [&](const Sow& sow) { return sow.in_labour(room.clock.now()); });
      if (in_labour == room.sows.end()) {
        const auto next = co_await first_of(room.labour_began.wait(), room.clock.until(duty->end));
        static_cast<void>(next);
        continue;
      }
      WorkOrder watch = empty_order(room, TaskKind::farrowing_watch);
      add_visit(room, watch, *in_labour);
      watch.give_up = duty->end;
      watch.people_at_it = &room.people_watching;
      const Time asked = room.now();
      co_await carry_out(room, std::move(watch));
      if (room.now() == asked) co_await room.clock.delay(1_min);  // nobody stays, though it was written down
    }
  }
}

// Loading on the first day, then the daily work and the records every morning, and finally washing and setting up the
// empty room.
Process<> daily_routine(FarrowingRoom& room) {
  bool washed = false;
  for (int i = 0; i <= room.settings.last_day(); ++i) {
    const int today = room.group.loading_day + i;
    const std::optional<Time> morning = begin_of_work(room, today);
    if (!morning) continue;  // nobody at work today
    co_await room.clock.until(*morning);
    const bool occupied = !is_empty(room);
    if (i == 0) {
      WorkOrder loading = empty_order(room, TaskKind::load_sow);
      for (Sow& sow : room.sows) add_visit(room, loading, sow);
      ask_staff(room, std::move(loading));
    } else if (occupied) {
      ask_for_daily_work(room, today);
    } else if (!washed) {
      washed = true;
      ask_for_work_of_the_room(room, TaskKind::wash, room.settings.sows());
      ask_for_work_of_the_room(room, TaskKind::set_up, room.settings.sows());
    }
    if (occupied) ask_for_work_of_the_room(room, TaskKind::records, 1);
    if (i > 0) continue;
    co_await room.clock.until(std::max(room.now(), room.loading()));
    ask_for_first_lessons(room);
  }
}

}  // namespace farrowtide
