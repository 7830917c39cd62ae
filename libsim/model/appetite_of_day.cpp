#include "libsim/model/appetite_of_day.hpp"

#include <algorithm>

#include "libsim/model/drinking.hpp"
#include "libsim/model/eating.hpp"
#include "libsim/model/farrowing_room.hpp"

namespace farrowtide {
namespace {

double full_day_milk_potential_mcal(const FarrowingRoom& room, const Sow& sow, int lactation_day,
                                    double sow_multiplier) {
  return room.biology.milk_potential(sow.litter.nursing(), sow.traits.parity, room.settings.herd.milk_level,
                                     sow_multiplier, (*sow.lactation_curve)(lactation_day));
}

double health_multiplier(const FarrowingRoom& room, const Sow& sow) {
  return (sow.health.ill() ? room.biology.while_ill.appetite_multiplier(sow.health.severity) : 1) *
         (sow.lame() ? room.biology.leg_trouble.appetite_multiplier() : 1);
}

// She eats less if the drinker flow is low, and as long as she has not learned to use drinker and feeder.
double water_multiplier(const FarrowingRoom& room, const Sow& sow, int lactation_day) {
  return room.biology.water_limit(drinker_flow_l_per_min(sow), lactation_day) * feed_access(room, sow);
}

AppetiteInputs appetite_inputs(const FarrowingRoom& room, const Sow& sow, int lactation_day) {
  AppetiteInputs inputs;
  inputs.lactation_day = lactation_day;
  inputs.parity = sow.traits.parity;
  inputs.diet = static_cast<const Diet&>(room.settings.diet);
  inputs.herd_factor = room.settings.herd.intake_level;
  inputs.form = room.settings.feeding->wet() ? FeedForm::with_water : FeedForm::dry;
  inputs.piglets = sow.litter.nursing();
  inputs.own_potential_milk_mcal = own_milk_potential_mcal(room, sow, lactation_day);
  inputs.parity_mean_potential_milk_mcal = full_day_milk_potential_mcal(room, sow, lactation_day, 1);
  inputs.effective_temperature_deg_c = sow.feeding.effective_temperature_deg_c;
  inputs.heat_memory = sow.feeding.heat_memory;
  if (sow.labour.births > 0) inputs.labour_h = (sow.labour.last_birth - sow.traits.onset).hours();
  inputs.backfat_p2_mm = sow.body.backfat_mm;
  inputs.body_weight_kg = sow.body.weight_kg;
  inputs.pre_farrow_feed_kg_per_day = sow.feeding.before_farrowing_kg_per_day;
  inputs.backfat_at_farrowing_mm = sow.body.backfat_at_farrowing_mm;
  inputs.sow_effect_log = sow.traits.effects.appetite_log;
  inputs.noise = sow.feeding.appetite_noise;
  inputs.unsteadiness = sow.traits.unsteadiness;
  inputs.health_multiplier = health_multiplier(room, sow);
  inputs.water_multiplier = water_multiplier(room, sow, lactation_day);
  inputs.handling_multiplier = 1 - sow.handling.disturbance;
  return inputs;
}

// The most that her body takes in a day and, where feed comes dry, that the water of a drinker which gives some
// allows. Without any water she stops eating after hours (is_parched).
double most_of_day_kg(const FarrowingRoom& room, const Sow& sow) {
  const double most_kg = room.biology.appetite.most_kg(sow.body.weight_kg);
  if (is_dry(sow) || room.settings.feeding->wet()) return most_kg;
  return std::min(most_kg, room.biology.water_limit.most_feed_kg(drinker_flow_l_per_min(sow)));
}

// What she would eat today with edible feed always available.
double appetite_of_day_kg(const FarrowingRoom& room, const Sow& sow) {
  const int day = sow.lactation_day(room.clock.now().day());
  const double wanted_kg = sow.farrowed.reached()
                               ? room.biology.appetite(appetite_inputs(room, sow, day)).appetite_kg_per_day
                               : room.biology.pre_farrow_appetite(day) * health_multiplier(room, sow) *
                                     water_multiplier(room, sow, day) * (1 - sow.handling.disturbance);
  return std::min(wanted_kg, most_of_day_kg(room, sow));
}

Process<> calm_down(FarrowingRoom& room, Sow& sow) {
  co_await room.clock.until(sow.handling.calm_at);
  if (sow.left.reached() || room.now() < sow.handling.calm_at) co_return;
  sow.handling.disturbance = 0;
  change_appetite(room, sow);
}

}  // namespace

double own_milk_potential_mcal(const FarrowingRoom& room, const Sow& sow, int lactation_day) {
  const double sow_multiplier = room.biology.milk_potential.sow_multiplier(sow.traits.effects.milk_log);
  return full_day_milk_potential_mcal(room, sow, lactation_day, sow_multiplier);
}

double usual_appetite_kg(const FarrowingRoom& room, const Sow& sow, int lactation_day) {
  AppetiteInputs usual = appetite_inputs(room, sow, lactation_day);
  usual.own_potential_milk_mcal = usual.parity_mean_potential_milk_mcal;
  usual.sow_effect_log = usual.noise = usual.labour_h = 0;
  usual.health_multiplier = usual.water_multiplier = usual.handling_multiplier = 1;
  return room.biology.appetite(usual).appetite_kg_per_day;
}

void remember_heat(const FarrowingRoom& room, Sow& sow) {
  const Appetite& appetite = room.biology.appetite;
  const double lost =
      HeatCarryOver::loss(appetite.temperature()(sow.feeding.effective_temperature_deg_c, sow.traits.parity));
  sow.feeding.heat_memory = appetite.heat_carry_over().next_memory(sow.feeding.heat_memory, lost);
}

void set_appetite(FarrowingRoom& room, Sow& sow) {
  const int day = sow.lactation_day(room.now().day());
  sow.feeding.effective_temperature_deg_c = room.effective_temperature_deg_c;
  sow.feeding.clock_of_day = sow.traits.parity == 1 ? room.clock_of_first_parity : room.clock_of_later_parities;
  if (sow.farrowed.reached() && day == 0) {  // appetite restarts from zero at the last birth
    sow.feeding.pool_kg = 0;
    sow.feeding.pool_at = room.now();
  }
  sow.feeding.appetite_kg = appetite_of_day_kg(room, sow);
  // What is left of yesterday's hunger cannot take a day's intake above the most.
  const double left_kg = most_of_day_kg(room, sow) - sow.feeding.appetite_kg;
  sow.feeding.pool_kg = std::min(sow.feeding.pool_kg, std::max(0.0, left_kg));
}

void change_appetite(FarrowingRoom& room, Sow& sow) {
  sow.feeding.pool_kg = hunger_kg(room, sow);
  sow.feeding.pool_at = room.now();
  sow.feeding.appetite_kg = appetite_of_day_kg(room, sow);
  sow.feed_arrived.fire();
}

void disturb(FarrowingRoom& room, Sow& sow, double drop_multiplier) {
  const HandlingEffect& handling = room.biology.handling;
  const auto day = static_cast<std::uint32_t>(room.now().day());
  const Duration length =
      Duration::from_hours(handling.duration_h(room.draws.uniform(Purpose::handling_length, sow.entity(), day)));
  sow.handling.disturbance =
      handling.together(sow.handling.disturbance, std::min(1.0, handling.drop() * drop_multiplier));
  sow.handling.calm_at = std::max(sow.handling.calm_at, room.now() + length);
  room.records.event(room.now(), EventKind::litter_disturbed, sow.number, -1, length.hours());
  change_appetite(room, sow);
  room.clock.spawn(calm_down(room, sow).named("calming of sow", sow.number));
}

void carry_pool_over(FarrowingRoom& room, Sow& sow) {
  sow.feeding.pool_kg = hunger_kg(room, sow, room.now() - 1_d);
  sow.feeding.pool_at = room.now();
}

}  // namespace farrowtide
