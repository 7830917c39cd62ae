#include "libsim/model/litter_risks.hpp"

#include <algorithm>

#include "libsim/model/farrowing_room.hpp"

namespace farrowtide {
namespace {

// How much lighter it is than the mean of its littermates [kg]; negative if heavier.
double kg_below_mates(const Piglet& piglet, double litter_kg, int nursing) {
  return nursing > 1 ? (litter_kg - piglet.weight_kg) / (nursing - 1) - piglet.weight_kg : 0;
}

int usable_teats(const FarrowingRoom& room, const Sow& sow) {
  return room.biology.usable_teats(sow.litter.teats, std::max(0, sow.lactation_day(room.clock.now().day())));
}

// Log hazard from moves and, for fostered piglets, from a litter of many sources.
double moved_log_hazard(const FarrowingRoom& room, const Sow& sow, const Piglet& piglet, double age) {
  if (piglet.born_to(sow)) return piglet.move_burden.log_hazard_at(age);
  return piglet.move_burden.log_hazard_at(age) +
         room.biology.move_effects.many_sources_log_hazard(static_cast<int>(sow.litter.sources.size()),
                                                           piglet.birth_weight_kg);
}

// Hazard of death of a piglet from lack of milk [1/d].
double hunger_per_day(const FarrowingRoom& room, const Litter& litter, double age) {
  return litter.unfed_share > 0 ? litter.unfed_share * room.biology.unfed.death_per_day(age) : 0;
}

}  // namespace

BirthRisk birth_risk(const Sow& dam) {
  return {.gestation_d = dam.traits.gestation_length_d,
          .stillborn = dam.litter.stillborn,
          .total_born = dam.traits.total_born,
          .farrowing_duration_min = dam.farrowing_duration_min(),
          .frailty = dam.litter.birth_frailty};
}

RearingRisk rearing_risk(const FarrowingRoom& room, const Sow& sow) {
  const Litter& litter = sow.litter;
  const Time now = room.clock.now();
  const int day = sow.lactation_day(now.day());
  return {.parity = sow.traits.parity,
          .rear_frailty = litter.rear_frailty,
          .middle_frailty = litter.middle_frailty,
          .late_frailty = litter.late_frailty,
          .herd_frailty = room.settings.herd.mortality_level_log,
          .room_deg_c = room.weather.climate().mean_deg_c,
          .surplus_piglets = std::max(0.0, static_cast<double>(litter.nursing() - usable_teats(room, sow))),
          .place = room.settings.equipment.farrowing_place,
          .sow_lame = sow.lame(),
          .sow_ill = sow.health.ill(),
          .low_drinker = sow.water.low_drinker && day <= room.biology.low_drinker.last_day(),
          .bad_start = room.biology.litter_start.starvation_hazard_ratio(day, sow.traits.start_kind) > 1};
}

PigletRisk piglet_risk(const FarrowingRoom& room, const Sow& sow, const Piglet& piglet, double litter_kg,
                       double age_d) {
  return {.birth_weight_kg = piglet.birth_weight_kg,
          .colostrum_g = piglet.colostrum_g,
          .sex = piglet.sex,
          .kg_below_mates = kg_below_mates(piglet, litter_kg, sow.litter.nursing()),
          .care = piglet.care_log_hazard,
          .moved = moved_log_hazard(room, sow, piglet, age_d),
          .unfed = hunger_per_day(room, sow.litter, age_d),
          .splay_legged = piglet.splay_legged,
          .scouring = piglet.scouring};
}

}  // namespace farrowtide
