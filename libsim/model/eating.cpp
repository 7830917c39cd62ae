#include "libsim/model/eating.hpp"

#include <algorithm>
#include <utility>

#include "libsim/kernel/first_of.hpp"
#include "libsim/model/drinking.hpp"
#include "libsim/model/farrowing_room.hpp"

namespace farrowtide {
namespace {

// A sow takes no meals around farrowing: from some time before the first birth to some time after the last one.
Time last_meal_before_labour(const FarrowingRoom& room, const Sow& sow) {
  return sow.traits.onset - room.biology.no_meal_before_birth;
}

// Her hunger at a time of the day that begins at `midnight`, if she eats nothing until then.
double hunger_at(const FarrowingRoom& room, Sow& sow, Time midnight, Time at) {
  const FeedingState& feeding = sow.feeding;
  const Time from = std::max(feeding.pool_at, midnight);
  const double gain_kg = feeding.appetite_kg * (feeding.share_by(midnight, at) - feeding.share_by(midnight, from));
  return room.biology.meals.pool_later_kg(feeding.pool_kg, gain_kg, (at - from).hours(), pending_meal_kg(room, sow));
}

// The time at which her appetite will reach the size of a meal, or midnight if it does not do so earlier.
Time hungry_at(const Sow& sow, Time from, double hunger_then_kg, double meal_kg) {
  const Time midnight = from.start_of_day() + 1_d;
  if (sow.feeding.appetite_kg <= 0) return midnight;
  const double share =
      sow.feeding.clock_of_day.share_by(from.second_of_day()) + (meal_kg - hunger_then_kg) / sow.feeding.appetite_kg;
  const auto second = sow.feeding.clock_of_day.time_when(share);
  return second ? std::clamp(from.start_of_day() + Duration{*second}, from, midnight) : midnight;
}

// When she looks at her trough again after a meal: at its end, if she will be hungry then or the day will have changed.
Time look_after_meal(const FarrowingRoom& room, Sow& sow, Time meal_ends) {
  const Time midnight = room.clock.now().start_of_day();
  if (meal_ends >= midnight + 1_d) return meal_ends;
  const double hunger_kg = hunger_at(room, sow, midnight, meal_ends), meal_kg = pending_meal_kg(room, sow);
  return hunger_kg >= meal_kg ? meal_ends : hungry_at(sow, meal_ends, hunger_kg, meal_kg);
}

FeedForm feed_form(const FarrowingRoom& room) {
  return room.settings.feeding->wet() ? FeedForm::with_water : FeedForm::dry;
}

// What she would draw from the trough now.
std::int64_t acceptable_g(FarrowingRoom& room, Sow& sow, double pool_kg) {
  return sow.feeding.trough.acceptable_g(room.now(), room.biology.meals.wanted_kg(pool_kg, feed_form(room)),
                                         pending_meal_kg(room, sow));
}

// Takes a meal of the feed that she accepts from the trough and returns its duration.
Duration take_meal(FarrowingRoom& room, Sow& sow, double pool_kg, std::int64_t accepted_g) {
  const Time now = room.now();
  const Meal meal = room.biology.meals.meal(pool_kg, accepted_g, feed_form(room));
  sow.feeding.trough.take(meal);
  sow.feeding.pool_kg = pool_kg - static_cast<double>(meal.eaten_g) / 1000;
  sow.feeding.pool_at = now;
  sow.feeding.last_meal = now;
  sow.feeding.refuses_stale_feed = false;
  ++sow.feeding.meals;
  room.records.event(now, EventKind::meal_eaten, sow.number, -1, static_cast<double>(meal.eaten_g) / 1000,
                     meal.length.minutes());
  return meal.length;
}

// Told once for each time that she goes hungry beside feed that is too old for her.
void refuse_stale_feed(FarrowingRoom& room, Sow& sow) {
  if (std::exchange(sow.feeding.refuses_stale_feed, true)) return;
  room.records.event(room.now(), EventKind::trough_spoiled_refused, sow.number);
}

// Whether what woke her makes her eat: feed that arrives, or being made to stand up.
bool starts_to_eat(const FarrowingRoom& room, const Sow& sow, double pool_kg) {
  if (sow.feeding.stood_up_at != room.clock.now()) return room.biology.meals.starts_at_delivery(pool_kg);
  const auto times = static_cast<std::uint32_t>(sow.feeding.times_stood_up);
  return room.biology.meals.starts_when_stood_up(pool_kg,
                                                 room.draws.uniform(Purpose::eats_when_stood_up, sow.entity(), times));
}

}  // namespace

double pending_meal_kg(const FarrowingRoom& room, Sow& sow) {
  PendingMeal& meal = sow.feeding.pending_meal;
  if (meal.number != sow.feeding.meals || meal.appetite_kg != sow.feeding.appetite_kg) {
    const MealRules& rules = room.biology.meals;
    if (meal.appetite_kg != sow.feeding.appetite_kg || meal.usual_threshold_kg == 0)
      meal.usual_threshold_kg = rules.usual_threshold_kg(sow.feeding.appetite_kg);
    meal.appetite_kg = sow.feeding.appetite_kg;
    meal.number = sow.feeding.meals;
    meal.threshold_kg = meal.usual_threshold_kg * rules.threshold_spread(room.draws.normal(
                                                      Purpose::meal_threshold, sow.entity(), sow.feeding.meals));
  }
  return meal.threshold_kg;
}

double hunger_kg(const FarrowingRoom& room, Sow& sow, Time midnight) {
  return hunger_at(room, sow, midnight, room.clock.now());
}

double hunger_kg(const FarrowingRoom& room, Sow& sow) { return hunger_kg(room, sow, room.clock.now().start_of_day()); }

Process<> eat(FarrowingRoom& room, Sow& sow) {
  constexpr Duration until_a_little_hungrier = 1_h;  // and the feed a little older
  Simulation& clock = room.clock;
  for (;;) {
    if (!sow.farrowed.reached() && room.now() >= last_meal_before_labour(room, sow)) {
      co_await sow.farrowed.wait();
      co_await clock.delay(room.biology.no_meal_after_birth);
    }
    if (room.settings.imposed.eaten() && sow.farrowed.reached()) co_return;  // entered at the end of each day
    if (is_parched(room, sow)) {
      co_await sow.water.drinker.mended.wait();
      continue;
    }
    const double meal_kg = pending_meal_kg(room, sow);
    const double pool_kg = hunger_kg(room, sow);
    const bool hungry = pool_kg >= meal_kg;
    Time eats_until = room.now(), look_again = eats_until.start_of_day() + 1_d;
    if (const auto accepted_g = hungry ? acceptable_g(room, sow, pool_kg) : 0; accepted_g > 0) {
      eats_until += take_meal(room, sow, pool_kg, accepted_g);
      look_again = look_after_meal(room, sow, eats_until);
    } else if (!hungry) {
      look_again = hungry_at(sow, room.now(), pool_kg, meal_kg);
    } else if (!sow.feeding.trough.empty()) {
      refuse_stale_feed(room, sow);
      look_again = std::min(look_again, room.now() + until_a_little_hungrier);
    }
    if (!sow.farrowed.reached())
      look_again = std::min(look_again, std::max(eats_until, last_meal_before_labour(room, sow)));
    const auto first = co_await first_of(clock.until(look_again), sow.feed_arrived.wait());
    const bool woken = first.which() == 1;
    if (!woken) continue;
    if (room.now() < eats_until) {  // she finds it after her meal
      co_await clock.until(eats_until);
      continue;
    }
    const double pool_when_woken_kg = hunger_kg(room, sow);
    if (is_parched(room, sow) || !starts_to_eat(room, sow, pool_when_woken_kg)) continue;
    if (const auto accepted_g = acceptable_g(room, sow, pool_when_woken_kg); accepted_g > 0) {
      const Duration length = take_meal(room, sow, pool_when_woken_kg, accepted_g);
      co_await clock.delay(length);
    }
  }
}

}  // namespace farrowtide
