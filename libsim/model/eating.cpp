#include "libsim/model/eating.hpp"

#include <algorithm>

#include "libsim/kernel/first_of.hpp"
#include "libsim/model/drinking.hpp"
#include "libsim/model/farrowing_room.hpp"

namespace farrowtide {
namespace {

// A sow takes no meals around farrowing: from some time before the first birth to some time after the last one.
Time last_meal_before_labour(const FarrowingRoom& room, const Sow& sow) {
  return sow.traits.onset - room.biology.no_meal_before_birth;
}

// The time at which her appetite will reach the size of a meal, or midnight if it does not do so earlier.
Time hungry_at(const FarrowingRoom& room, const Sow& sow, double meal_kg) {
  const Time now = room.clock.now();
  const Time midnight = now.start_of_day() + 1_d;
  if (sow.feeding.appetite_kg <= 0) return midnight;
  const double share = sow.feeding.clock_of_day.share_by(now.second_of_day()) +
                       (meal_kg - sow.feeding.pool_now_kg(now)) / sow.feeding.appetite_kg;
  const auto second = sow.feeding.clock_of_day.time_when(share);
  return second ? std::clamp(now.start_of_day() + Duration{*second}, now, midnight) : midnight;
}

// Takes a meal from the trough and returns its duration.
Duration take_meal(FarrowingRoom& room, Sow& sow) {
  const Time now = room.now();
  const FeedForm form = room.settings.feeding->wet() ? FeedForm::with_water : FeedForm::dry;
  const double pool_kg = sow.feeding.pool_now_kg(now);
  const Meal meal = room.biology.meals.meal(pool_kg, sow.feeding.trough.edible_g(now), form);
  sow.feeding.trough.take(now, meal);
  sow.feeding.pool_kg = pool_kg - static_cast<double>(meal.eaten_g) / 1000;
  sow.feeding.pool_at = now;
  sow.feeding.last_meal = now;
  ++sow.feeding.meals;
  room.records.event(now, EventKind::meal_eaten, sow.number, -1, static_cast<double>(meal.eaten_g) / 1000,
                     meal.length.minutes());
  return meal.length;
}

}  // namespace

double pending_meal_kg(const FarrowingRoom& room, Sow& sow) {
  PendingMeal& meal = sow.feeding.pending_meal;
  if (meal.number != sow.feeding.meals || meal.appetite_kg != sow.feeding.appetite_kg) {
    const double z = room.draws.normal(Purpose::meal_threshold, sow.entity(), sow.feeding.meals);
    meal = {sow.feeding.meals, sow.feeding.appetite_kg, room.biology.meals.threshold_kg(sow.feeding.appetite_kg, z)};
  }
  return meal.threshold_kg;
}

Process<> eat(FarrowingRoom& room, Sow& sow) {
  Simulation& clock = room.clock;
  for (;;) {
    if (!sow.farrowed.reached() && room.now() >= last_meal_before_labour(room, sow)) {
      co_await sow.farrowed.wait();
      co_await clock.delay(room.biology.no_meal_after_birth);
    }
    if (is_parched(room, sow)) {
      co_await sow.water.drinker.mended.wait();
      continue;
    }
    const double meal_kg = pending_meal_kg(room, sow);
    const bool hungry = sow.feeding.pool_now_kg(room.now()) >= meal_kg;
    if (hungry && sow.feeding.trough.edible_g(room.now()) > 0) {
      const Duration length = take_meal(room, sow);
      co_await clock.delay(length);
      continue;
    }
    if (hungry && sow.feeding.trough.holds_spoiled_feed(room.now()))
      room.records.event(room.now(), EventKind::trough_spoiled_refused, sow.number);
    Time look_again = hungry ? room.now().start_of_day() + 1_d : hungry_at(room, sow, meal_kg);
    if (!sow.farrowed.reached())
      look_again = std::min(look_again, std::max(room.now(), last_meal_before_labour(room, sow)));
    const auto first = co_await first_of(clock.until(look_again), sow.feed_arrived.wait());
    const bool fed = first.which() == 1;
    if (fed && sow.feeding.trough.edible_g(room.now()) > 0 &&
        room.biology.meals.starts_at_delivery(sow.feeding.pool_now_kg(room.now()))) {
      const Duration length = take_meal(room, sow);
      co_await clock.delay(length);
    }
  }
}

}  // namespace farrowtide
