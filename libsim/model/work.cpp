#include "libsim/model/work.hpp"

#include <algorithm>
#include <utility>

#include "libsim/kernel/errors.hpp"
#include "libsim/model/farm.hpp"
#include "libsim/model/farrowing_room.hpp"
#include "libsim/model/task_handlers.hpp"
#include "libsim/model/task_record.hpp"
#include "libsim/model/work_hours.hpp"

namespace farrowtide {
namespace {

// End of the shift that is on duty, or comes next, at `asked`. The search starts a day earlier: no duty is longer.
Time end_of_shift(const FarrowingRoom& room, Time asked) {
  const std::vector<Duty>& duties = room.farm.duties;
  const Time earliest = asked < Time{} + 1_d ? Time{} : asked - 1_d;
  for (auto duty = std::ranges::lower_bound(duties, earliest, {}, &Duty::begin); duty != duties.end(); ++duty) {
    if (duty->end > asked) return duty->end;
  }
  return asked.start_of_day() + 1_d;
}

// When a task is given up if nobody has started it: a round at the next round, most other work at midnight, treatment
// and moves after a day, and exams, weaning and washing never.
std::optional<Time> give_up_time(const FarrowingRoom& room, TaskKind kind, Time asked) {
  switch (facts_of(kind).give_up) {
    case GiveUpRule::never:
      return std::nullopt;
    case GiveUpRule::at_next_round:
      return asked + *room.settings.attendance->round_every();
    case GiveUpRule::after_a_day:
      return asked + 1_d;
    case GiveUpRule::at_midnight:
      return asked.start_of_day() + 1_d;
  }
  throw InternalError("task kind without a give-up rule");
}

// Gilts spread over the room cost extra walking time per visit.
bool walks_to_gilt(const FarrowingRoom& room, const Sow& sow) {
  return sow.traits.parity == 1 && room.settings.loading->gilt_places() == GiltPlaces::spread;
}

// A person at work on an order that counts them, until it goes out of scope.
class AtWork {
 public:
  explicit AtWork(int* people) : people_(people) {
    if (people_) ++*people_;
  }
  ~AtWork() {
    if (people_) --*people_;
  }
  AtWork(const AtWork&) = delete;
  AtWork& operator=(const AtWork&) = delete;

 private:
  int* people_;
};

// Waits for a person to become available for a task; gives an empty seat if the task is given up first.
Process<Seat> wait_for_turn(FarrowingRoom& room, TaskKind kind, std::optional<Time> give_up) {
  const Rank rank{room.biology.task_ranks(kind)};
  const Preempt preempt = facts_of(kind).urgency == Urgency::pre_empts ? Preempt::yes : Preempt::no;
  const int label = static_cast<int>(kind);
  if (!give_up) {
    Seat seat = co_await room.staff.acquire(rank, preempt, label);
    co_return seat;
  }
  const Duration patience = std::max(0_s, *give_up - room.now());
  Seat seat = co_await room.staff.acquire_within(patience, rank, preempt, label);
  co_return seat;
}

// A day has fewer than 4096 half-minutes, so no two visits of one kind to one sow share a draw.
std::uint32_t occasion_of(Time asked) {
  return static_cast<std::uint32_t>(asked.day()) * 4096 + static_cast<std::uint32_t>(asked.second_of_day() / 30);
}

// Whether somebody really makes the visit that is written down.
bool is_made(const FarrowingRoom& room, const WorkOrder& order, const Visit& visit) {
  const double compliance = room.settings.staff.compliance;
  if (compliance >= 1 || facts_of(order.kind).give_up == GiveUpRule::never) return true;
  const std::uint32_t whom = visit.sow ? visit.sow->entity() : room_entity;
  const std::uint32_t entity = whom * 32 + static_cast<std::uint32_t>(order.kind);
  return room.draws.uniform(Purpose::done_as_written, entity, occasion_of(order.asked)) < compliance;
}

}  // namespace

double drawn_minutes(const FarrowingRoom& room, TaskKind kind, std::uint32_t entity, std::uint32_t occasion) {
  const auto purpose =
      static_cast<Purpose>(static_cast<std::uint32_t>(Purpose::task_time) + static_cast<std::uint32_t>(kind));
  return room.biology.task_times.minutes(kind, room.draws.uniform(purpose, entity, occasion));
}

WorkOrder empty_order(FarrowingRoom& room, TaskKind kind) {
  WorkOrder order;
  order.kind = kind;
  order.asked = room.now();
  order.due = room.biology.task_due(kind, order.asked, end_of_shift(room, order.asked), room.end());
  order.give_up = give_up_time(room, kind, order.asked);
  return order;
}

WorkOrder work_order(FarrowingRoom& room, TaskKind kind, Sow& sow) {
  WorkOrder order = empty_order(room, kind);
  add_visit(room, order, sow);
  return order;
}

void add_visit(FarrowingRoom& room, WorkOrder& order, Sow& sow, int animals) {
  Visit visit{&sow, 0};
  for (int animal = 0; animal < animals; ++animal) {
    visit.minutes += drawn_minutes(room, order.kind, sow.entity() * 32 + static_cast<std::uint32_t>(animal),
                                   occasion_of(order.asked));
  }
  if (walks_to_gilt(room, sow)) visit.minutes += room.biology.task_times.spread_gilt_walk_minutes();
  order.visits.push_back(visit);
}

void add_move(FarrowingRoom& room, WorkOrder& order, Piglet& piglet, Sow& to) {
  const auto day = static_cast<std::uint32_t>(order.asked.day());
  auto visit = std::ranges::find(order.visits, &to, &Visit::sow);
  if (visit == order.visits.end()) {
    visit = order.visits.insert(visit, Visit{&to, 0});
    if (walks_to_gilt(room, to)) visit->minutes += room.biology.task_times.spread_gilt_walk_minutes();
  }
  visit->minutes += drawn_minutes(room, TaskKind::foster_move, piglet.entity(), day);
  visit->piglets.push_back(&piglet);
}

Process<> carry_out(FarrowingRoom& room, WorkOrder order) {
  TaskRecord record(room.records, order);
  const auto made = [&room, &order](const Visit& visit) { return is_made(room, order, visit); };
  if (std::ranges::none_of(order.visits, made)) {
    for (Visit& visit : order.visits) visit.outcome = VisitOutcome::left_out;
    co_return;
  }
  const TaskHandler& handler = handler_of(order.kind);
  Seat seat = co_await wait_for_turn(room, order.kind, order.give_up);
  int interruptions = 0;  // before the current seat was acquired
  if (seat) record.started = room.now();
  for (Visit& visit : order.visits) {
    if (!seat) break;
    if (!made(visit)) {
      visit.outcome = VisitOutcome::left_out;
      continue;
    }
    if (visit.sow && handler.is_called_off(room, *visit.sow)) {
      visit.outcome = VisitOutcome::called_off;
      continue;
    }
    if (handler.come) handler.come(room, *visit.sow);
    const Duration work = Duration::from_minutes(visit.minutes);
    visit.started = room.now();
    seat.relabel(WorkLabel{order.kind, visit.sow ? visit.sow->number : 0}.code());
    {
      const AtWork counted(order.people_at_it);
      co_await seat.serve(work);
    }
    visit.done = room.now();
    visit.outcome = room.now() > order.due ? VisitOutcome::late : VisitOutcome::done;
    record.minutes += work.minutes();
    room.farm.staff_minutes_worked += work.minutes();
    record.interruptions = interruptions + seat.interruptions();
    if (visit.sow && !visit.sow->left.reached()) handler.end(room, order, visit);
    if (room.staff.in_use() > room.staff.capacity() &&
        &visit != &order.visits.back()) {  // the shift is over: queue for the next one
      interruptions = record.interruptions + 1;
      seat.release();
      Seat next = co_await wait_for_turn(room, order.kind, order.give_up);
      seat = std::move(next);
    }
  }
  if (!seat) co_return;  // not done, or not completed
  record.called_off = record.minutes == 0;
  record.done = room.now();
  record.outcome = room.now() > order.due ? TaskOutcome::late : TaskOutcome::done;
}

ProcessRef ask_staff(FarrowingRoom& room, WorkOrder order, Order home) {
  if (order.visits.empty()) return {};
  const char* task = name_of(order.kind).data();  // a string literal in the catalogue
  const Sow* sow = order.visits.size() == 1 ? order.visits.front().sow : nullptr;
  return room.clock.spawn(carry_out(room, std::move(order)).named(task, sow ? sow->number : -1), home);
}

}  // namespace farrowtide
