#include "libsim/model/work.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace farrowtide {
namespace {

// Minutes of one task, drawn by whom it is for, the day and its order within the day.
double drawn_minutes(FarrowingRoom& room, TaskKind kind, std::uint32_t entity, std::uint32_t occasion) {
  const auto purpose =
      static_cast<Purpose>(static_cast<std::uint32_t>(Purpose::task_time) + static_cast<std::uint32_t>(kind));
  return room.biology.task_times.minutes(kind, room.draws.uniform(purpose, entity, occasion));
}

Time end_of_shift(const FarrowingRoom& room, Time asked) {
  for (const Duty& duty : room.duties) {
    if (duty.end > asked) return duty.end;
  }
  return asked.start_of_day() + 1_d;
}

// Exams and births cannot be put off to tomorrow; weaning and what comes after it must be done some day.
std::optional<Time> give_up_time(const FarrowingRoom& room, TaskKind kind, Time asked) {
  switch (kind) {
    case TaskKind::assist:
    case TaskKind::wean:
    case TaskKind::wash:
    case TaskKind::set_up:
      return std::nullopt;
    case TaskKind::farrowing_round:
      return asked + *room.settings.attendance.round_every;
    case TaskKind::temperature_check:  // these wait for the next shift
    case TaskKind::treat_sow:
    case TaskKind::foster_move:
      return asked + 1_d;
    default:
      return asked.start_of_day() + 1_d;
  }
}

FeedingView feeding_view(const FarrowingRoom& room, const Sow& sow, Duration feeding_time) {
  const int today = static_cast<int>(room.clock.now().day());
  return {.parity = sow.parity,
          .farrowed = sow.farrowed.reached(),
          .day = sow.farrowed.reached() ? sow.lactation_day(today) : today - sow.due_day,
          .round = feeding_time,
          .backfat_mm = sow.backfat_at_loading_mm,
          .in_trough_kg = static_cast<double>(sow.trough.in_trough_g()) / 1000};
}

FeedForm feed_form(const FarrowingRoom& room) {
  return room.settings.feeding->wet() ? FeedForm::with_water : FeedForm::dry;
}

void pour(FarrowingRoom& room, Sow& sow, Duration feeding_time) {
  const auto decision = room.settings.feeding->decide(feeding_view(room, sow, feeding_time));
  if (!decision) return;
  sow.trough.set_access(decision->access);
  if (decision->access == FeedAccess::by_hand) {
    const auto offered_g =
        sow.trough.deliver(room.now(), std::llround(decision->offer_kg * 1000), feed_form(room),
                           room.weather.today().temperature_deg_c[static_cast<std::size_t>(room.now().hour_of_day())]);
    room.records.event(room.now(), EventKind::feed_delivered, sow.number, -1, static_cast<double>(offered_g) / 1000);
  }
  sow.feed_arrived.fire();
}

// Fresh feed is not poured on spoiled feed: the trough must be cleaned first, which is another task.
void feed(FarrowingRoom& room, Sow& sow, Duration feeding_time) {
  if (!sow.trough.holds_spoiled_feed(room.now())) {
    pour(room, sow, feeding_time);
    return;
  }
  WorkOrder cleaning = empty_order(room, TaskKind::trough_clean);
  cleaning.feeding_time = feeding_time;
  add_visit(room, cleaning, sow);
  room.clock.spawn(carry_out(room, std::move(cleaning)).named("cleaning the trough of sow", sow.number), Order::task);
}

void clean_and_feed(FarrowingRoom& room, Sow& sow, Duration feeding_time) {
  const auto removed_g = sow.trough.clean();
  room.records.event(room.now(), EventKind::trough_cleaned, sow.number, -1, static_cast<double>(removed_g) / 1000);
  pour(room, sow, feeding_time);
}

bool needs_exam(const FarrowingRoom& room, const Sow& sow) {
  const Time now = room.clock.now();
  return sow.in_labour(now) && room.biology.help.exam_is_due(sow.labour.exams, (now - sow.labour.last_birth).minutes());
}

void look_at_labour(FarrowingRoom& room, Sow& sow) {
  attend_births(room, sow);
  const auto uncared =
      std::ranges::count_if(sow.litter.piglets, [](const Piglet& p) { return p.life == Life::alive && !p.cared_for; });
  if (uncared > 0 && room.settings.attendance.care_intensity > 0) {
    WorkOrder care = empty_order(room, TaskKind::newborn_care);
    add_visit(room, care, sow, static_cast<int>(uncared));
    room.clock.spawn(carry_out(room, std::move(care)).named("newborn care of sow", sow.number), Order::task);
  }
  if (needs_exam(room, sow) && !sow.labour.exam_asked) {
    sow.labour.exam_asked = true;
    WorkOrder exam = work_order(room, TaskKind::assist, sow);
    room.clock.spawn(carry_out(room, std::move(exam)).named("exam of sow", sow.number), Order::task);
  }
}

// An internal exam: a skilled procedure that the herd veterinarian supervises. It may free the piglet that is stuck,
// soon after it began; the rest of the task is with the sow and the newborn.
void examine(FarrowingRoom& room, Sow& sow) {
  const auto number = static_cast<std::uint32_t>(sow.labour.exams++);
  const bool succeeds = room.biology.help.succeeds(room.draws.uniform(Purpose::exam_succeeds, sow.entity(), number));
  room.records.event(room.now(), EventKind::exam_made, sow.number, -1, sow.labour.exams, succeeds ? 1 : 0);
  if (succeeds) sow.helped.fire();
}

void begin_visit(FarrowingRoom& room, TaskKind kind, Sow& sow) {
  if (kind == TaskKind::farrowing_round || kind == TaskKind::assist) ++sow.labour.people_present;
  if (kind == TaskKind::assist) examine(room, sow);
}

void process_litter(FarrowingRoom& room, Sow& sow) {
  const int day = sow.lactation_day(room.now().day());
  const HandlingEffect& handling = room.biology.handling;
  if (handling.is_late_processing(day)) {
    sow.litter.set_back_until = room.now() + Duration::from_days(handling.late_processing_lasts_d());
  }
  disturb(room, sow, handling.processing_drop_multiplier(day));
}

void end_visit(FarrowingRoom& room, const WorkOrder& order, const Visit& visit) {
  Sow& sow = *visit.sow;
  if (sow.left.reached()) return;  // she died while somebody was with her
  switch (order.kind) {
    case TaskKind::train_gilt:
      room.records.event(room.now(), EventKind::gilt_trained, sow.number);
      return sow.trained.reach();
    case TaskKind::drinker_check:
      return check_drinker(room, sow);
    case TaskKind::daily_look:
      return look_for_signs(room, sow);
    case TaskKind::temperature_check:
      return take_temperature(room, sow);
    case TaskKind::treat_sow:
      return treat(room, sow);
    case TaskKind::processing:
      return process_litter(room, sow);
    case TaskKind::foster_move:
      for (Piglet* piglet : visit.piglets) move_piglet(room, *piglet, sow);
      return disturb(room, sow, 1);
    case TaskKind::feed_by_hand:
    case TaskKind::full_access_top_up:
      return feed(room, sow, order.feeding_time);
    case TaskKind::trough_clean:
      return clean_and_feed(room, sow, order.feeding_time);
    case TaskKind::farrowing_round:
      --sow.labour.people_present;
      return look_at_labour(room, sow);
    case TaskKind::assist:
      --sow.labour.people_present;
      sow.labour.exam_asked = false;
      return;
    case TaskKind::newborn_care:
      return care_for_newborn(room, sow);
    case TaskKind::remove_dead:
      sow.litter.dead_to_remove = 0;
      return;
    default:
      return;  // work that the model only counts the minutes of
  }
}

// Nobody goes to a sow for an exam that she no longer needs, or to one that has left.
bool is_called_off(const FarrowingRoom& room, TaskKind kind, Sow& sow) {
  if (kind == TaskKind::farrowing_round) return !sow.in_labour(room.clock.now());
  if (kind == TaskKind::assist) {
    if (needs_exam(room, sow)) return false;
    sow.labour.exam_asked = false;
    return true;
  }
  return sow.left.reached() && kind != TaskKind::wash && kind != TaskKind::set_up;
}

// The row of a task, written when the task is over, or when the simulation ends before it is.
class TaskRecord {
 public:
  TaskRecord(RoomRecords& records, const TaskRow& begun) : row(begun), records_(records) {}
  TaskRecord(const TaskRecord&) = delete;
  TaskRecord& operator=(const TaskRecord&) = delete;
  ~TaskRecord() {
    if (!called_off) records_.write(row);
  }

  TaskRow row;
  bool called_off = false;

 private:
  RoomRecords& records_;
};

TaskRow task_row(const WorkOrder& order) {
  TaskRow row;
  row.kind = static_cast<std::int32_t>(order.kind);
  row.sow = order.visits.size() == 1 && order.visits.front().sow ? order.visits.front().sow->number : -1;
  row.animals = static_cast<std::int32_t>(order.visits.size());
  row.asked_h = order.asked.since_start().hours();
  row.due_h = order.due.since_start().hours();
  row.outcome = static_cast<std::int32_t>(TaskOutcome::undone);
  return row;
}

// Feeding is two tasks at one time: pouring for those fed by hand, a look at the feeder for those with full access.
void ask_for_feeding(FarrowingRoom& room, Duration feeding_time) {
  for (const FeedAccess access : {FeedAccess::by_hand, FeedAccess::full}) {
    WorkOrder round =
        empty_order(room, access == FeedAccess::full ? TaskKind::full_access_top_up : TaskKind::feed_by_hand);
    round.feeding_time = feeding_time;
    for (Sow& sow : room.sows) {
      if (sow.left.reached() || sow.in_labour(room.now())) continue;
      const auto decision = room.settings.feeding->decide(feeding_view(room, sow, feeding_time));
      if (decision && decision->access == access) add_visit(room, round, sow);
    }
    if (!round.visits.empty()) room.clock.spawn(carry_out(room, std::move(round)).named("feeding"), Order::task);
  }
}

// The work of a morning, kind by kind.
void ask_for_daily_work(FarrowingRoom& room, int today) {
  using enum TaskKind;
  const int check_every = room.settings.routine.drinker_check_every;
  const bool checks_drinkers = check_every > 0 && today % check_every == 0;
  std::vector<WorkOrder> orders;
  for (const TaskKind kind :
       {train_gilt, drinker_check, pre_farrow_look, daily_look, processing, treat_litter, remove_dead})
    orders.push_back(empty_order(room, kind));
  const auto ask = [&](TaskKind kind, Sow& sow, int animals = 1) {
    add_visit(room, *std::ranges::find(orders, kind, &WorkOrder::kind), sow, animals);
  };
  for (Sow& sow : room.sows) {
    if (sow.left.reached()) continue;
    const Litter& litter = sow.litter;
    if (room.settings.gilts.trained && !sow.knows_the_place && !sow.trained.reached()) ask(train_gilt, sow);
    if (checks_drinkers) ask(drinker_check, sow);
    ask(sow.farrowed.reached() ? daily_look : pre_farrow_look, sow);
    if (litter.dead_to_remove > 0) ask(remove_dead, sow, litter.dead_to_remove);
    if (litter.scouring() > 0) ask(treat_litter, sow);
    const bool processing_day =
        sow.farrowed.reached() && sow.lactation_day(today) == room.settings.routine.processing_day;
    if (processing_day && litter.nursing() > 0) ask(processing, sow, litter.nursing());
  }
  for (WorkOrder& order : orders) {
    if (!order.visits.empty()) room.clock.spawn(carry_out(room, std::move(order)).named("daily work"), Order::task);
  }
}

void ask_for_work_of_the_room(FarrowingRoom& room, TaskKind kind, int crates) {
  WorkOrder order = empty_order(room, kind);
  const auto day = static_cast<std::uint32_t>(room.now().day());
  for (int crate = 1; crate <= crates; ++crate) {
    order.visits.push_back({nullptr, drawn_minutes(room, kind, static_cast<std::uint32_t>(crate), day)});
  }
  room.clock.spawn(carry_out(room, std::move(order)).named("work of the room"), Order::task);
}

// Gilts that are spread over the room cost a walk each.
bool walks_to_gilt(const FarrowingRoom& room, const Sow& sow) {
  return sow.parity == 1 && room.settings.gilts.housing == GiltHousing::spread;
}

}  // namespace

WorkOrder empty_order(FarrowingRoom& room, TaskKind kind) {
  WorkOrder order;
  order.kind = kind;
  order.asked = room.now();
  order.due = room.biology.task_due(kind, order.asked, end_of_shift(room, order.asked));
  order.give_up = give_up_time(room, kind, order.asked);
  return order;
}

WorkOrder work_order(FarrowingRoom& room, TaskKind kind, Sow& sow) {
  WorkOrder order = empty_order(room, kind);
  add_visit(room, order, sow);
  return order;
}

void add_visit(FarrowingRoom& room, WorkOrder& order, Sow& sow, int animals) {
  // A day has fewer than 4096 half-minutes: no two visits of one kind to one sow share a draw.
  const auto day = static_cast<std::uint32_t>(order.asked.day());
  const auto half_minute = static_cast<std::uint32_t>(order.asked.second_of_day() / 30);
  Visit visit{&sow, 0};
  for (int animal = 0; animal < animals; ++animal) {
    visit.minutes += drawn_minutes(room, order.kind, sow.entity() * 32 + static_cast<std::uint32_t>(animal),
                                   day * 4096 + half_minute);
  }
  if (walks_to_gilt(room, sow)) visit.minutes += room.biology.task_times.spread_gilt_walk_minutes();
  order.visits.push_back(visit);
}

void add_move(FarrowingRoom& room, WorkOrder& order, Piglet& piglet, Sow& to) {
  const auto day = static_cast<std::uint32_t>(order.asked.day());
  auto visit = std::ranges::find(order.visits, &to, &Visit::sow);
  if (visit == order.visits.end()) visit = order.visits.insert(visit, Visit{&to, 0});
  visit->minutes += drawn_minutes(room, TaskKind::foster_move, piglet.entity(), day);
  visit->piglets.push_back(&piglet);
}

Process<Seat> wait_for_turn(FarrowingRoom& room, TaskKind kind, std::optional<Time> give_up) {
  const Rank rank{room.biology.task_ranks(kind)};
  const Preempt preempt = pre_empts(kind) ? Preempt::yes : Preempt::no;
  if (!give_up) {
    Seat seat = co_await room.staff.request(rank, preempt);
    co_return seat;
  }
  const Duration patience = std::max(0_s, *give_up - room.now());
  Seat seat = co_await room.staff.request_within(patience, rank, preempt);
  co_return seat;
}

Process<> carry_out(FarrowingRoom& room, WorkOrder order) {
  TaskRecord record(room.records, task_row(order));
  TaskRow& row = record.row;
  Seat seat = co_await wait_for_turn(room, order.kind, order.give_up);
  int interruptions = 0;  // in turns that are over
  if (seat) row.started_h = room.now().since_start().hours();
  for (const Visit& visit : order.visits) {
    if (!seat) break;
    if (visit.sow && is_called_off(room, order.kind, *visit.sow)) continue;
    if (visit.sow) begin_visit(room, order.kind, *visit.sow);
    const Duration work = Duration::from_minutes(visit.minutes);
    co_await seat.serve(work);
    row.minutes += work.minutes();
    room.staff_minutes_worked += work.minutes();
    row.interruptions = interruptions + seat.interruptions();
    if (visit.sow) end_visit(room, order, visit);
    if (room.staff.in_use() > room.staff.capacity() &&
        &visit != &order.visits.back()) {  // the rest is for the next shift
      interruptions = row.interruptions + 1;
      seat.give_back();
      Seat next = co_await wait_for_turn(room, order.kind, order.give_up);
      seat = std::move(next);
    }
  }
  if (!seat) co_return;  // undone, or its rest
  record.called_off = row.minutes == 0;
  row.done_h = room.now().since_start().hours();
  row.outcome = static_cast<std::int32_t>(room.now() > order.due ? TaskOutcome::late : TaskOutcome::done);
}

Process<> shifts(FarrowingRoom& room) {
  for (std::size_t i = 0; i < room.duties.size(); ++i) {
    const Duty duty = room.duties[i];
    co_await room.clock.until(duty.begin);
    room.staff.set_capacity(duty.people, duty.at_end);
    room.records.event(room.now(), EventKind::shift_began, -1, -1, duty.people);
    co_await room.clock.until(duty.end);
    const bool goes_on = i + 1 < room.duties.size() && room.duties[i + 1].begin == duty.end;
    if (!goes_on) room.staff.set_capacity(0, duty.at_end);
    room.records.event(room.now(), EventKind::shift_ended);
  }
}

Process<> feed_by_the_clock(FarrowingRoom& room) {
  for (int day = 0; day <= room.settings.last_day(); ++day) {
    for (const Duration feeding_time : room.settings.feeding->rounds()) {
      const Time moment = Time{} + day * 1_d + feeding_time;
      if (moment < room.loading()) continue;  // the room is still empty
      co_await room.clock.until(moment);
      ask_for_feeding(room, feeding_time);
    }
  }
}

Process<> go_round_farrowings(FarrowingRoom& room) {
  if (!room.settings.attendance.round_every) co_return;
  const Duration every = *room.settings.attendance.round_every;
  for (std::size_t i = 0; i < room.duties.size(); ++i) {
    const Duty duty = room.duties[i];
    for (Time moment = duty.begin; moment < duty.end; moment += every) {
      co_await room.clock.until(moment);
      WorkOrder round = empty_order(room, TaskKind::farrowing_round);
      for (Sow& sow : room.sows) {
        if (sow.in_labour(room.now())) add_visit(room, round, sow);
      }
      if (!round.visits.empty())
        room.clock.spawn(carry_out(room, std::move(round)).named("farrowing round"), Order::task);
    }
  }
}

// Loading first; then every morning the looks, the records and what is due that day; at the end the empty room.
Process<> daily_routine(FarrowingRoom& room) {
  bool washed = false;
  for (int day = 0; day <= room.settings.last_day(); ++day) {
    const auto first = std::ranges::find_if(room.duties, [&](const Duty& duty) { return duty.begin.day() >= day; });
    const Time morning = first == room.duties.end() ? Time{} + day * 1_d : std::max(first->begin, room.now());
    if (morning.day() > day) continue;  // nobody at work today
    co_await room.clock.until(morning);
    const bool occupied = std::ranges::any_of(room.sows, [](const Sow& sow) { return !sow.left.reached(); });
    if (day == 0) {
      WorkOrder loading = empty_order(room, TaskKind::load_sow);
      for (Sow& sow : room.sows) add_visit(room, loading, sow);
      room.clock.spawn(carry_out(room, std::move(loading)).named("loading"), Order::task);
    } else if (occupied) {
      ask_for_daily_work(room, day);
    } else if (!washed) {
      washed = true;
      ask_for_work_of_the_room(room, TaskKind::wash, room.settings.sows());
      ask_for_work_of_the_room(room, TaskKind::set_up, room.settings.sows());
    }
    if (occupied) ask_for_work_of_the_room(room, TaskKind::records, 1);
  }
}

}  // namespace farrowtide
