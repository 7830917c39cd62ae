#include "libsim/model/drinking.hpp"

#include <algorithm>

#include "libsim/kernel/hazard.hpp"
#include "libsim/model/appetite_of_day.hpp"
#include "libsim/model/farrowing_room.hpp"

namespace farrowtide {
namespace {

constexpr double never_d = 3650;

double days_until(double left, double per_day) { return per_day > 0 ? std::min(left / per_day, never_d) : never_d; }

enum class LearnedItem : std::uint32_t { drinker, feeder };

Process<> learn(FarrowingRoom& room, Sow& sow, Skill& skill, LearnedItem item) {
  if (skill.known) co_return;
  const auto occasion = static_cast<std::uint32_t>(item);
  const double threshold = room.draws.exponential(Purpose::learning, sow.entity(), occasion);
  const auto rate = [&room, &sow]() -> std::optional<HazardRate> {
    const Learning& learning = room.biology.learning;
    if (sow.trained.reached()) return HazardRate{.per_day = learning.rate_per_day(Teaching::trained)};
    return HazardRate{.per_day = learning.rate_per_day(Teaching::none), .changed = &sow.trained.arrival()};
  };
  co_await threshold_reached(room.clock, threshold, rate);
  skill = {.known = true, .learned_at = room.now()};
  room.records.event(room.now(), EventKind::gilt_learned, sow.number, -1, occasion);
  change_appetite(room, sow);
}

double water_wanted_l(const FarrowingRoom& room, const Sow& sow, int lactation_day, double eaten_kg_per_day) {
  return room.biology.water_demand(lactation_day, eaten_kg_per_day, room.weather.climate().mean_deg_c) *
         (sow.health.ill() ? room.biology.while_ill.water_multiplier() : 1);
}

}  // namespace

double drinker_flow_l_per_min(const Sow& sow) {
  return sow.water.drinker.flow_l_per_min * sow.water.drinker.open_share;
}

bool is_dry(const Sow& sow) { return sow.water.drinker.open_share <= 0; }

double days_without_water(const FarrowingRoom& room, const Sow& sow) {
  return is_dry(sow) ? (room.clock.now() - sow.water.drinker.clogged_at).days() : 0;
}

bool is_parched(const FarrowingRoom& room, const Sow& sow) {
  return is_dry(sow) &&
         (room.clock.now() - sow.water.drinker.clogged_at).hours() >= room.biology.water_limit.eating_stops_after_h();
}

void note_drinker(const FarrowingRoom& room, Sow& sow) {
  WaterState& water = sow.water;
  const double since_d = (room.clock.now() - water.noted_at).days(), dry_d = days_without_water(room, sow);
  const Thirst& thirst = room.biology.thirst;
  water.most_today_l += since_d * room.biology.water_limit.most_water_l(drinker_flow_l_per_min(sow));
  water.milk_lost_d += thirst.milk_lost_d(dry_d) - thirst.milk_lost_d(std::max(0.0, dry_d - since_d));
  water.noted_at = room.clock.now();
}

double water_access(const FarrowingRoom& room, const Sow& sow) {
  return sow.water.uses_drinker.known ? 1 : room.biology.learning.access_until_learned();
}

// A sow that hardly drinks hardly eats, whether or not she has found her feeder.
double feed_access(const FarrowingRoom& room, const Sow& sow) {
  return sow.water.uses_drinker.known && sow.water.uses_feeder.known ? 1 : room.biology.learning.access_until_learned();
}

double water_drunk_l(const FarrowingRoom& room, const Sow& sow, int lactation_day, double eaten_kg) {
  return std::min(
      water_wanted_l(room, sow, lactation_day, eaten_kg) * water_access(room, sow) + sow.water.drunk_standing_l,
      sow.water.most_today_l);
}

double water_drunk_since_l(const FarrowingRoom& room, const Sow& sow, Time from, double eaten_kg) {
  const Time now = room.clock.now();
  if (from >= now) return 0;
  const Drinker& drinker = sow.water.drinker;
  const double days = (now - from).days();
  const double open_days = drinker.open_share < 1 ? std::clamp((drinker.clogged_at - from).days(), 0.0, days) : days;
  const double wanted_l =
      water_wanted_l(room, sow, sow.lactation_day(now.day()), eaten_kg / days) * water_access(room, sow);
  const auto at_flow = [&](double flow_l_per_min) {
    return std::min(wanted_l, room.biology.water_limit.most_water_l(flow_l_per_min));
  };
  return open_days * at_flow(drinker.flow_l_per_min) + (days - open_days) * at_flow(drinker_flow_l_per_min(sow));
}

Process<> learn_to_drink(FarrowingRoom& room, Sow& sow) {
  return learn(room, sow, sow.water.uses_drinker, LearnedItem::drinker);
}

Process<> learn_to_eat(FarrowingRoom& room, Sow& sow) {
  return learn(room, sow, sow.water.uses_feeder, LearnedItem::feeder);
}

Process<> clog(FarrowingRoom& room, Sow& sow) {
  if (room.settings.equipment.drinker_blockages == Blockages::off) co_return;
  const DrinkerRules& rules = room.biology.drinkers;
  for (std::uint32_t mended = 0;; ++mended) {
    const double in_part_d = days_until(room.draws.exponential(Purpose::drinker_partly_clogs, sow.entity(), mended),
                                        rules.partial_blockage_per_day());
    const double wholly_d =
        days_until(room.draws.exponential(Purpose::drinker_clogs, sow.entity(), mended), rules.full_blockage_per_day());
    co_await room.clock.delay(Duration::from_days(std::min(in_part_d, wholly_d)));
    note_drinker(room, sow);
    sow.water.drinker.open_share = wholly_d < in_part_d ? 0 : rules.partial_blockage_flow_share();
    sow.water.drinker.clogged_at = room.now();
    room.records.event(room.now(), EventKind::drinker_clogged, sow.number, -1, drinker_flow_l_per_min(sow));
    change_appetite(room, sow);
    sow.risk_changed.fire();
    co_await sow.water.drinker.mended.wait();
  }
}

bool is_drinker_due(const FarrowingRoom& room, const Sow& sow, Suspicion suspicion) {
  return room.settings.water->check({.day = room.day_of_group(room.clock.now().day()),
                                     .crate = sow.number - room.group.first_sow + 1,
                                     .crates = room.settings.equipment.crates,
                                     .sow_flagged = suspicion == Suspicion::of_the_drinker,
                                     .looked_at = sow.water.drinker.looked_at});
}

// A clogged drinker is cleaned; one with a flow below the policy's action limit is adjusted to the limit.
void check_drinker(FarrowingRoom& room, Sow& sow) {
  Drinker& drinker = sow.water.drinker;
  drinker.looked_at = true;
  const bool clogged = drinker.open_share < 1;
  const double limit_l_per_min = room.settings.water->action_limit_l_per_min();
  if (!clogged && drinker.flow_l_per_min >= limit_l_per_min) return;
  note_drinker(room, sow);
  drinker.open_share = 1;
  drinker.flow_l_per_min = std::max(drinker.flow_l_per_min, limit_l_per_min);
  room.records.event(room.now(), EventKind::drinker_mended, sow.number, -1, drinker.flow_l_per_min);
  change_appetite(room, sow);
  if (!clogged) return;
  drinker.mended.fire();
  sow.risk_changed.fire();
}

}  // namespace farrowtide
