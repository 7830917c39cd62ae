#include "libsim/model/seeing_intake.hpp"

#include <algorithm>

#include "libsim/model/appetite_of_day.hpp"
#include "libsim/model/drinking.hpp"
#include "libsim/model/farrowing_room.hpp"

namespace farrowtide {
namespace {

double kg(std::int64_t grams) { return static_cast<double>(grams) / 1000; }

// What such a sow eats of feed that is always available, from a moment to now.
double usual_kg_since(const FarrowingRoom& room, const Sow& sow, Time from) {
  const AppetiteClock& clock = sow.feeding.clock_of_day;
  double sum_kg = 0;
  for (Time begin = from; begin < room.clock.now();) {
    const Time midnight = begin.start_of_day() + 1_d, end = std::min(room.clock.now(), midnight);
    const auto last_second = end == midnight ? AppetiteClock::seconds_per_day : end.second_of_day();
    sum_kg += usual_appetite_kg(room, sow, sow.lactation_day(begin.day())) *
              (clock.share_by(last_second) - clock.share_by(begin.second_of_day()));
    begin = end;
  }
  return sum_kg;
}

// When she could first eat since the sighting before: not around her farrowing.
Time eats_from(const FarrowingRoom& room, const Sow& sow) {
  return std::max(sow.intake_seen.at, sow.labour.last_birth + room.biology.no_meal_after_birth);
}

IntakeMeter meter(const FarrowingRoom& room, const Sow& sow) {
  return sow.feeding.trough.access() == FeedAccess::full && !room.settings.feeding->reads_feeders()
             ? IntakeMeter::none
             : IntakeMeter::portions;
}

// Estimates what she has eaten and drunk since the sighting before, and what was to be expected.
void compare_with_usual(const FarrowingRoom& room, const Sow& sow, IntakeSighting& sighting) {
  const IntakeSighting& before = sow.intake_seen;
  const Trough& trough = sow.feeding.trough;
  const auto day = static_cast<std::uint32_t>(sighting.day);
  const Time from = eats_from(room, sow);
  const double eaten_kg = kg(trough.eaten_g() - before.eaten_g);
  const double usual_kg = usual_kg_since(room, sow, from);
  const double in_front_of_her_kg = kg(before.in_trough_g + trough.offered_g() - before.offered_g);
  sighting.expected_kg = trough.access() == FeedAccess::full ? usual_kg : std::min(usual_kg, in_front_of_her_kg);
  const double days = std::max(0.0, (room.clock.now() - from).days());
  if (days > 0) {
    sighting.expected_l = days * room.biology.water_demand(sow.lactation_day(sighting.day), sighting.expected_kg / days,
                                                           room.weather.climate().mean_deg_c);
  }
  const IntakeSeen& seen = room.biology.intake_seen;
  sighting.eaten_kg =
      seen.eaten_kg(eaten_kg, meter(room, sow), room.draws.normal(Purpose::eaten_seen, sow.entity(), day));
  sighting.drunk_l = seen.drunk_l(water_drunk_since_l(room, sow, from, eaten_kg),
                                  room.draws.normal(Purpose::drunk_seen, sow.entity(), day));
}

void count_days_off_feed(const FarrowingRoom& room, Sow& sow) {
  const IntakeSeen& seen = room.biology.intake_seen;
  if (!seen.is_enough_to_judge(sow.intake_seen.expected_kg)) return;
  int& days = sow.feeding.days_off_feed;
  days = seen.is_untouched(sow.intake_seen.eaten_kg, sow.intake_seen.expected_kg) ? days + 1 : 0;
}

}  // namespace

void see_intake(FarrowingRoom& room, Sow& sow) {
  const int today = static_cast<int>(room.now().day());
  if (sow.intake_seen.day == today) return;
  const Trough& trough = sow.feeding.trough;
  IntakeSighting sighting{.day = today,
                          .at = room.now(),
                          .eaten_g = trough.eaten_g(),
                          .offered_g = trough.offered_g(),
                          .in_trough_g = trough.in_trough_g()};
  const bool seen_before = sow.intake_seen.day >= 0;
  if (sow.farrowed.reached() && seen_before) compare_with_usual(room, sow, sighting);
  sow.intake_seen = sighting;
  count_days_off_feed(room, sow);
}

IntakeFinding intake_finding(const FarrowingRoom& room, const Sow& sow) {
  const IntakeSeen& seen = room.biology.intake_seen;
  const auto today = static_cast<std::uint32_t>(room.clock.now().day());
  if (!seen.is_noticed(room.draws.uniform(Purpose::sign_not_eaten, sow.entity(), today)))
    return IntakeFinding::as_expected;
  if (drinker_flow_l_per_min(sow) <= 0) return IntakeFinding::drinker_is_dry;
  const IntakeSighting& sighting = sow.intake_seen;
  const bool off_feed = seen.is_off_feed(sighting.eaten_kg, sighting.expected_kg);
  const bool off_water = seen.is_off_water(sighting.drunk_l, sighting.expected_l);
  return off_feed || off_water ? IntakeFinding::off_feed_or_water : IntakeFinding::as_expected;
}

}  // namespace farrowtide
