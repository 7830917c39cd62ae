#include "libsim/model/midnight.hpp"

#include <algorithm>
#include <cmath>
#include <span>

#include "libsim/model/appetite_of_day.hpp"
#include "libsim/model/drinking.hpp"
#include "libsim/model/farrowing_room.hpp"
#include "libsim/model/litter_mortality.hpp"
#include "libsim/model/milk_of_day.hpp"
#include "libsim/model/scouring.hpp"

namespace farrowtide {
namespace {

// Updates whether she is a low drinker, from her mean intake so far in the first days of lactation. The farrowing day
// is excluded, because every sow drinks little on it.
void note_water(const FarrowingRoom& room, Sow& sow, int lactation_day, double water_l) {
  const LowDrinker& low = room.biology.low_drinker;
  if (lactation_day < 1 || lactation_day > low.last_day()) return;
  sow.water.early_l += water_l;
  sow.water.low_drinker = low.is_low(sow.water.early_l / lactation_day);
}

// Whether she has nothing more to lose, and eats less than she needs. Where sows do not die (herd.health: off), such
// a sow lives on what she eats.
bool lives_on_feed_alone(const FarrowingRoom& room, const Sow& sow, double eaten_kg) {
  const Biology& biology = room.biology;
  return biology.starvation.spent(sow.body.loss_share()) &&
         eaten_kg * room.settings.diet.energy_mcal_per_kg < biology.energy.maintenance()(sow.body.weight_kg);
}

// A piglet's gain from creep feed, if it eats any, minus losses due to scours, chilling and lack of milk [kg].
double other_gain_kg(const FarrowingRoom& room, const Sow& sow, const Piglet& piglet, int lactation_day,
                     double creep_feed_kg) {
  const Biology& biology = room.biology;
  const Litter& litter = sow.litter;
  const double gain_kg = piglet.eats_creep_feed ? creep_feed_kg : 0;
  const double chilled_g = biology.chilling.gain_loss_g_per_day(
      piglet.weight_kg, (room.clock.now() - piglet.born).days(),
      biology.micro_climate.creep_deg_c(room.weather.climate().mean_deg_c, lactation_day));
  return gain_kg - lost_to_scours_kg(room, sow, piglet, lactation_day) - chilled_g / 1000 -
         litter.unfed_share * biology.unfed.weight_loss_kg(piglet.weight_kg);
}

// Adds a day's gain to the piglets' weights and returns the total [kg]. Whatever takes it, a piglet loses no more in a
// day than one that gets no milk at all.
double grow_litter(const FarrowingRoom& room, Sow& sow, int lactation_day, std::span<const double> milk_gain_kg) {
  const CreepFeed& creep_feed = room.biology.creep_feed;
  const bool others = lactation_day > 0 && !room.settings.imposed.litter_gain_kg(lactation_day);
  const double creep_feed_kg =
      others ? creep_feed.gain_kg(creep_feed.intake_g_per_day(lactation_day, sow.litter.creep_feed_z)) : 0;
  double sum_kg = 0;
  for (std::size_t i = 0; i < milk_gain_kg.size(); ++i) {
    Piglet& piglet = *sow.litter.sucklings[i];
    const double gain_kg =
        std::max(milk_gain_kg[i] + (others ? other_gain_kg(room, sow, piglet, lactation_day, creep_feed_kg) : 0),
                 -room.biology.unfed.weight_loss_kg(piglet.weight_kg));
    piglet.weight_kg += gain_kg;
    sum_kg += gain_kg;
  }
  return sum_kg;
}

void check_energy(FarrowingRoom& room, const Sow& sow, const EnergyDay& day) {
  const double body_cost_mcal = room.biology.energy.body_cost_mcal(day.lipid_change_kg, day.protein_change_kg);
  room.records.check_energy(sow.number, day.intake_mcal,
                            day.maintenance_mcal + day.other_need_mcal + day.milk_cost_mcal + body_cost_mcal);
}

// Enters the feed offered, undelivered, eaten, wasted and removed since the last midnight in the day's totals.
void close_trough(Sow& sow, SowDay& day) {
  FeedingState& feeding = sow.feeding;
  const auto since = [](std::int64_t now_g, std::int64_t& before_g) {
    const double kg = static_cast<double>(now_g - before_g) / 1000;
    before_g = now_g;
    return kg;
  };
  day.offered_kg = since(feeding.trough.offered_g(), feeding.at_midnight.offered_g);
  day.undelivered_kg = since(feeding.trough.undelivered_g(), feeding.at_midnight.undelivered_g);
  day.eaten_kg = since(feeding.trough.eaten_g(), feeding.at_midnight.eaten_g);
  day.wasted_kg = since(feeding.trough.wasted_g(), feeding.at_midnight.wasted_g);
  day.removed_kg = since(feeding.trough.removed_g(), feeding.at_midnight.removed_g);
  day.in_trough_at_midnight_kg = static_cast<double>(feeding.trough.in_trough_g()) / 1000;
  day.meals = static_cast<int>(feeding.meals - feeding.meals_at_midnight);
  feeding.meals_at_midnight = feeding.meals;
}

// Enters the intake that a trial measured, as if it came from a feeder that is never empty.
void eat_as_imposed(FarrowingRoom& room, Sow& sow, int lactation_day) {
  const auto eaten_kg = room.settings.imposed.eaten_kg(lactation_day);
  if (!eaten_kg || !sow.farrowed.reached()) return;
  Trough& trough = sow.feeding.trough;
  trough.set_access(FeedAccess::full);
  const auto eaten_g = std::llround(*eaten_kg * 1000);
  trough.take({.drawn_g = eaten_g, .eaten_g = eaten_g});
}

EnergyDay on_feed_alone(const FarrowingRoom& room, double eaten_kg) {
  EnergyDay day;
  day.intake_mcal = day.maintenance_mcal = eaten_kg * room.settings.diet.energy_mcal_per_kg;
  return day;
}

void balance_before_farrowing(FarrowingRoom& room, Sow& sow, SowDay& day) {
  const EnergyDay energy =
      lives_on_feed_alone(room, sow, day.eaten_kg)
          ? on_feed_alone(room, day.eaten_kg)
          : room.biology.pre_farrow_energy(sow.body.weight_kg, day.eaten_kg, room.settings.diet, sow.reserves());
  check_energy(room, sow, energy);
  sow.body.weight_kg += energy.body_weight_change_kg;
  sow.body.backfat_mm += energy.backfat_change_mm;
  sow.body.protein_kg += energy.protein_change_kg;
  sow.body.heat_w = room.biology.sow_heat(energy.intake_mcal, energy.body_energy_mcal, 0);
  day.energy_eaten_mcal = energy.intake_mcal;
  day.maintenance_mcal = energy.maintenance_mcal + energy.other_need_mcal;
  day.body_energy_change_mcal = energy.body_energy_mcal;
  day.weight_change_kg = energy.body_weight_change_kg;
}

void balance_lactation(FarrowingRoom& room, Sow& sow, int lactation_day, SowDay& day) {
  const Biology& biology = room.biology;
  BodyState& body = sow.body;
  const DayOfMilk milk = day_of_milk(room, sow, lactation_day, day.eaten_kg);
  const int piglets = sow.litter.nursing();
  const EnergyDay energy =
      lives_on_feed_alone(room, sow, day.eaten_kg)
          ? on_feed_alone(room, day.eaten_kg)
          : biology.energy(body.weight_kg, day.eaten_kg, room.settings.diet, milk.milk_mcal, sow.reserves());
  check_energy(room, sow, energy);
  LysineDay lysine = biology.lysine(body.smoothed_lysine_shortfall_g, milk.gain_kg,
                                    day.eaten_kg * room.settings.diet.total_lysine_g_per_kg, sow.traits.parity);
  if (biology.starvation.spent(body.loss_share())) lysine.protein_loss_kg = lysine.body_weight_change_kg = 0;
  const double weight_change_kg =
      energy.body_weight_change_kg + lysine.body_weight_change_kg - biology.early_loss(lactation_day);

  body.heat_w = biology.sow_heat(energy.intake_mcal, energy.body_energy_mcal, milk.milk_mcal) +
                (piglets > 0 ? biology.litter_heat(piglets, sow.litter.weight_kg() / piglets, milk.milk_mcal) : 0);
  body.weight_kg += weight_change_kg;
  body.backfat_mm += energy.backfat_change_mm;
  body.protein_kg += energy.protein_change_kg - lysine.protein_loss_kg;
  body.smoothed_lysine_shortfall_g = lysine.smoothed_shortfall_g;
  const double grown_kg = grow_litter(room, sow, lactation_day, milk.gain_of_piglets_kg);

  day.energy_eaten_mcal = energy.intake_mcal;
  day.maintenance_mcal = energy.maintenance_mcal;
  day.milk_mcal = milk.milk_mcal;
  day.milk_potential_mcal = milk.potential_mcal;
  day.body_energy_change_mcal = energy.body_energy_mcal;
  day.weight_change_kg = weight_change_kg;
  day.litter_gain_kg = grown_kg;
}

// Yesterday's balance of one sow and her litter, from actual feed intake.
void close_day(FarrowingRoom& room, Sow& sow, int yesterday) {
  SowDay day;
  day.calendar_day = yesterday;
  day.appetite_kg = sow.feeding.appetite_kg;
  day.effective_temperature_deg_c = sow.feeding.effective_temperature_deg_c;
  day.room_temperature_deg_c = room.weather.climate().mean_deg_c;
  eat_as_imposed(room, sow, sow.lactation_day(yesterday));
  close_trough(sow, day);
  note_drinker(room, sow);
  day.water_l = water_drunk_l(room, sow, sow.lactation_day(yesterday), day.eaten_kg);
  sow.water.drunk_standing_l = 0;
  day.ill = sow.health.ill();
  note_water(room, sow, sow.lactation_day(yesterday), day.water_l);
  const Starvation& starvation = room.biology.starvation;
  const double hunger_before = starvation.death_per_day(sow.body.protein_loss_share(), sow.body.loss_share());
  sow.body.smoothed_intake_mcal =
      starvation.smoothed_mcal(sow.body.smoothed_intake_mcal, day.eaten_kg * room.settings.diet.energy_mcal_per_kg);
  room.records.check_feed(sow.number, sow.feeding.trough.unaccounted_g());
  day.farrowed = sow.day_0 && *sow.day_0 <= yesterday;
  if (day.farrowed) {
    balance_lactation(room, sow, sow.lactation_day(yesterday), day);
  } else {
    balance_before_farrowing(room, sow, day);
  }
  if (starvation.death_per_day(sow.body.protein_loss_share(), sow.body.loss_share()) != hunger_before)
    sow.risk_changed.fire();
  sow.water.most_today_l = sow.water.milk_lost_d = 0;
  day.piglets = sow.litter.nursing();
  day.weight_kg = sow.body.weight_kg;
  day.weighed_kg =
      room.biology.weighed_sow(sow.body.weight_kg, day.eaten_kg, sow.traits.late_gestation_feed_kg_per_day);
  day.backfat_mm = sow.body.backfat_mm;
  sow.days.push_back(day);
  room.records.event(room.now(), EventKind::day_balanced, sow.number, -1, day.eaten_kg, day.weight_change_kg);
}

double lamps_w(const FarrowingRoom& room, int day) {
  double sum_w = 0;
  for (const Sow& sow : room.sows) {
    if (!sow.left.reached()) sum_w += room.biology.lamps.watt(sow.lactation_day(day));
  }
  return sum_w;
}

double animal_heat_w(const FarrowingRoom& room) {
  double sum_w = 0;
  for (const Sow& sow : room.sows) sum_w += sow.left.reached() ? 0 : sow.body.heat_w;
  return sum_w;
}

// Sets the appetite clocks for the day's temperatures; they depend on the sow only through her parity class.
void set_appetite_clocks(FarrowingRoom& room) {
  const auto clock_of = [&](int parity) {
    return room.appetite_clock(room.weather.today().temperature_deg_c, room.effective_temperature_deg_c, parity,
                               room.biology.appetite.temperature());
  };
  room.effective_temperature_deg_c = room.biology.effective_temperature.appetite_deg_c(
      room.weather.climate(), room.weather.yesterday_mean_deg_c(), room.settings.equipment.sow_cooling);
  room.clock_of_first_parity = clock_of(1);
  room.clock_of_later_parities = clock_of(2);
}

// Sets the sows' hazard of death by heat for today.
void set_heat(FarrowingRoom& room) {
  const RoomDay& today = room.weather.today();
  const double before = room.heat_death_per_day;
  room.heat_death_per_day = room.biology.overheating.death_per_day(
      today.temperature_deg_c, today.relative_humidity_pct,
      room.biology.effective_temperature.cooling_credit_k(room.settings.equipment.sow_cooling,
                                                          room.weather.climate().mean_deg_c));
  if (room.heat_death_per_day == before) return;
  for (Sow& sow : room.sows) sow.risk_changed.fire();
}

void start_day(FarrowingRoom& room, int day) {
  // Close yesterday first, while `room.weather` still holds yesterday's climate.
  const bool first_day = day == room.group.loading_day;
  if (!first_day) {
    for (Sow& sow : room.sows) {
      if (sow.left.reached()) continue;
      close_day(room, sow, day - 1);
      carry_pool_over(room, sow);
      remember_heat(room, sow);
    }
  }
  if (std::ranges::all_of(room.sows, [](const Sow& sow) { return sow.left.reached(); })) return;  // empty, unheated
  room.weather.start_day(day, animal_heat_w(room), lamps_w(room, day), room.records);
  set_appetite_clocks(room);
  set_heat(room);
  for (Sow& sow : room.sows) {
    if (sow.left.reached()) continue;
    if (!first_day) {
      sow.feeding.appetite_noise = room.biology.appetite.variation().next_noise(
          sow.feeding.appetite_noise,
          room.draws.normal(Purpose::appetite_noise, sow.entity(), static_cast<std::uint32_t>(day)));
    }
    set_appetite(room, sow);
    sow.feeding.trough.feel(room.now(), room.weather.climate().mean_deg_c);
    if (sow.labour.births > 0 || sow.traits.nurse) {
      let_scours_pass(room, sow);
      sow.litter.mean_at_midnight_kg = sow.litter.mean_kg();
      room.biology.usable_teats.nurse(sow.litter.teats, std::max(0, sow.lactation_day(day)), sow.litter.nursing());
      settle_litter(room, sow);
    }
  }
}

}  // namespace

Process<> turn_days(FarrowingRoom& room) {
  for (int day = 0; day <= room.settings.last_day(); ++day) {
    const Time midnight = room.begins + day * 1_d;
    co_await room.clock.until(midnight);
    start_day(room, room.group.loading_day + day);
  }
}

}  // namespace farrowtide
