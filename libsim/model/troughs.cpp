#include "libsim/model/troughs.hpp"

#include <cmath>

#include "libsim/model/farrowing_room.hpp"
#include "libsim/model/recovering.hpp"
#include "libsim/model/seeing_intake.hpp"
#include "libsim/model/work.hpp"

namespace farrowtide {
namespace {

FeedingView feeding_view(const FarrowingRoom& room, const Sow& sow, Duration feeding_time) {
  const int today = static_cast<int>(room.clock.now().day());
  return {.parity = sow.traits.parity,
          .farrowed = sow.farrowed.reached(),
          .day = sow.farrowed.reached() ? sow.lactation_day(today) : today - sow.traits.due_day,
          .round = feeding_time,
          .backfat_mm = sow.traits.backfat_mm,
          .in_trough_kg = static_cast<double>(sow.feeding.trough.in_trough_g()) / 1000,
          .own_allowance_kg_per_day = sow.feeding.own_allowance_kg_per_day,
          .own_allowance_day = sow.feeding.own_allowance_day};
}

FeedForm feed_form(const FarrowingRoom& room) {
  return room.settings.feeding->wet() ? FeedForm::with_water : FeedForm::dry;
}

void pour(FarrowingRoom& room, Sow& sow, Duration feeding_time) {
  if (room.settings.imposed.eaten() && sow.farrowed.reached()) return;  // her intake does not come from what is poured
  const auto decision = room.settings.feeding->decide(feeding_view(room, sow, feeding_time));
  if (!decision) return;
  sow.feeding.trough.set_access(decision->access);
  if (decision->access == FeedAccess::full) {
    sow.feeding.trough.clean(room.now());  // the pan, as part of the check of the feeder
  } else {
    const auto portion_g = std::llround(decision->offer_kg * 1000);
    const auto offered_g = sow.feeding.trough.deliver(
        room.now(), portion_g, feed_form(room),
        room.weather.today().temperature_deg_c[static_cast<std::size_t>(room.now().hour_of_day())]);
    room.records.event(room.now(), EventKind::feed_delivered, sow.number, -1, static_cast<double>(offered_g) / 1000,
                       static_cast<double>(portion_g - offered_g) / 1000);
  }
  sow.feed_arrived.fire();
}

TroughState trough_state(const FarrowingRoom& room, const Sow& sow) {
  const TroughReading& reading = sow.feeding.trough_reading;
  const bool settled = sow.farrowed.reached() && sow.lactation_day(reading.day) >= 1;
  if (!settled || reading.offered_kg <= 0 || sow.feeding.trough.access() == FeedAccess::full)
    return TroughState::unknown;
  const double left_share = reading.left_kg / reading.offered_kg;
  if (left_share >= room.biology.trough_untouched_share) return TroughState::untouched;
  return left_share <= room.biology.trough_empty_share ? TroughState::empty : TroughState::in_between;
}

// Reads the trough when staff first come to it on a day; the trough check uses this reading, however late it is made.
void read_trough(FarrowingRoom& room, Sow& sow) {
  see_intake(room, sow);
  TroughReading& reading = sow.feeding.trough_reading;
  const int today = static_cast<int>(room.now().day());
  if (reading.day == today) return;
  reading.day = today;
  reading.offered_kg = static_cast<double>(sow.feeding.trough.offered_g() - reading.offered_before_g) / 1000;
  reading.left_kg = static_cast<double>(sow.feeding.trough.in_trough_g()) / 1000;
  reading.offered_before_g = sow.feeding.trough.offered_g();
  reading.state = trough_state(room, sow);
  sow.feeding.mornings.count(reading.state);
}

// Stale feed is removed on the first visit of a day that finds some, and not again on that day.
bool needs_cleaning(const FarrowingRoom& room, const Sow& sow) {
  return room.settings.feeding->removes_stale_feed() && sow.feeding.cleaning_asked_day != room.clock.now().day() &&
         sow.feeding.trough.holds_stale_feed(room.clock.now());
}

void ask_for_cleaning(FarrowingRoom& room, Sow& sow, std::optional<Duration> feeding_time) {
  sow.feeding.cleaning_asked_day = room.now().day();
  WorkOrder cleaning = empty_order(room, TaskKind::trough_clean);
  cleaning.feeding_time = feeding_time;
  add_visit(room, cleaning, sow);
  ask_staff(room, std::move(cleaning));
}

}  // namespace

// Stale feed is removed before fresh feed is poured, which is a separate task.
void feed(FarrowingRoom& room, Sow& sow, Duration feeding_time) {
  read_trough(room, sow);
  if (needs_cleaning(room, sow)) {
    ask_for_cleaning(room, sow, feeding_time);
  } else {
    pour(room, sow, feeding_time);
  }
}

// Removes the stale feed; if that was done for a feeding, the feed is poured as well.
void clean(FarrowingRoom& room, Sow& sow, std::optional<Duration> feeding_time) {
  const auto removed_g = sow.feeding.trough.clean(room.now());
  room.records.event(room.now(), EventKind::trough_cleaned, sow.number, -1, static_cast<double>(removed_g) / 1000);
  if (feeding_time) {
    pour(room, sow, *feeding_time);
  } else {
    sow.feed_arrived.fire();
  }
}

// The morning trough check: adjusts her allowance and flags her if she needs a closer look.
void check_trough(FarrowingRoom& room, Sow& sow) {
  read_trough(room, sow);
  const TroughReading& reading = sow.feeding.trough_reading;
  const auto decision =
      room.settings.feeding->at_trough_check({.parity = sow.traits.parity,
                                              .day = sow.lactation_day(room.now().day()),
                                              .offered_kg = reading.offered_kg,
                                              .left_kg = reading.left_kg,
                                              .own_allowance_kg_per_day = sow.feeding.own_allowance_kg_per_day,
                                              .own_allowance_day = sow.feeding.own_allowance_day});
  if (!decision) return;
  sow.feeding.mornings_at_check.count(reading.state);
  if (decision->allowance_kg_per_day) {
    sow.feeding.own_allowance_kg_per_day = decision->allowance_kg_per_day;
    sow.feeding.own_allowance_day = sow.lactation_day(room.now().day());
  }
  room.records.event(room.now(), EventKind::trough_checked, sow.number, -1, reading.left_kg,
                     decision->allowance_kg_per_day.value_or(missing));
  if (needs_cleaning(room, sow)) ask_for_cleaning(room, sow, {});
  if (decision->flag) flag(room, sow);
}

// The daily check of troughs with automatic feed drops.
void look_after_drops(FarrowingRoom& room, Sow& sow) {
  read_trough(room, sow);
  if (needs_cleaning(room, sow)) ask_for_cleaning(room, sow, {});
}

// Automatic feed drops occur on time, whether or not staff are on duty; sows in labour are skipped.
void drop_feed(FarrowingRoom& room, Duration feeding_time) {
  for (Sow& sow : room.sows) {
    if (!sow.left.reached() && !sow.in_labour(room.now())) pour(room, sow, feeding_time);
  }
}

// A feeding consists of two tasks: pouring feed for sows fed by hand, and topping up the feeders of sows with full
// access.
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
    ask_staff(room, std::move(round));
  }
}

}  // namespace farrowtide
