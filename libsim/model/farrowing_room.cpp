#include "libsim/model/farrowing_room.hpp"

#include <algorithm>
#include <cmath>
#include <string>

#include "libsim/kernel/errors.hpp"
#include "libsim/kernel/first_of.hpp"
#include "libsim/model/drinking.hpp"
#include "libsim/model/eating.hpp"
#include "libsim/model/farm.hpp"
#include "libsim/model/labour.hpp"
#include "libsim/model/litter_mortality.hpp"
#include "libsim/model/midnight.hpp"
#include "libsim/model/moving.hpp"
#include "libsim/model/recovering.hpp"
#include "libsim/model/routine.hpp"
#include "libsim/model/scouring.hpp"
#include "libsim/model/sow_mortality.hpp"
#include "libsim/model/sow_rows.hpp"
#include "libsim/model/weaning.hpp"
#include "libsim/model/work.hpp"

namespace farrowtide {
namespace {

constexpr Duration loading_time = 8_h, weaning_time = 8_h;  // times of day

TroughRules troughs_of(const FarmSettings& settings, const Coefficients& coefficients) {
  TroughRules rules = TroughRules::standard(coefficients);
  rules.capacity_g = std::llround(settings.equipment.trough_capacity_kg * 1000);
  rules.fit_for_h = settings.equipment.feed_keeps_h;
  return rules;
}

LightHours light_hours(const FarmSettings& settings, const Coefficients& coefficients) {
  LightHours light = LightHours::standard(coefficients);
  light.from_h = settings.equipment.light_from_h;
  light.until_h = settings.equipment.light_until_h;
  return light;
}

// The rest of her stay: waits for the planned or early weaning, and then until somebody has time to wean her litter.
// The room has to be empty at the end of its last day: a litter that nobody has weaned until then is weaned late.
Process<> rear_until_weaned(FarrowingRoom& room, Sow& sow) {
  Simulation& clock = room.clock;
  const Time planned = std::max(clock.now(), Time{} + sow.weaning_day * 1_d + weaning_time);
  const auto first = co_await first_of(clock.until(planned, Order::task), sow.weaned_early.wait());
  static_cast<void>(first);
  const ProcessRef work = ask_staff(room, work_order(room, TaskKind::wean, sow), Order::animal);
  const auto end = co_await first_of(clock.join(work), clock.until(room.end() - 1_s));
  wean(room, sow, end.which() == 0 ? SowFate::weaned : SowFate::weaned_late);
}

}  // namespace

Process<> stay(FarrowingRoom& room, Sow& sow) {
  Simulation& clock = room.clock;
  room.records.event(room.now(), EventKind::sow_loaded, sow.number, -1, sow.body.weight_kg, sow.traits.parity);
  sow.feeding.pool_at = sow.water.noted_at = room.now();

  Scoped water{clock, clog(room, sow).named("drinker of sow", sow.number)};
  Scoped drinking{clock, learn_to_drink(room, sow).named("learning to drink of sow", sow.number)};
  Scoped eating{clock, learn_to_eat(room, sow).named("learning to eat of sow", sow.number)};
  Scoped meals{clock, eat(room, sow).named("meals of sow", sow.number)};
  co_await clock.until(sow.traits.onset);

  Scoped deaths{clock, litter_mortality(room, sow).named("litter of sow", sow.number)};
  co_await farrow(room, sow);

  Scoped recovery{clock, recover(room, sow).named("recovery of sow", sow.number)};
  Scoped check{clock, have_temperature_taken(room, sow).named("temperature of sow", sow.number)};
  Scoped scours{clock, scour(room, sow).named("scours of litter", sow.number)};

  co_await rear_until_weaned(room, sow);
}

Process<> stay_as_nurse(FarrowingRoom& room, Sow& sow) {
  Simulation& clock = room.clock;
  room.records.event(room.now(), EventKind::sow_loaded, sow.number, -1, sow.body.weight_kg, sow.traits.parity);
  Scoped water{clock, clog(room, sow).named("drinker of sow", sow.number)};
  Scoped meals{clock, eat(room, sow).named("meals of sow", sow.number)};
  Scoped deaths{clock, litter_mortality(room, sow).named("litter of sow", sow.number)};
  co_await rear_until_weaned(room, sow);
}

FarrowingRoom::FarrowingRoom(Farm& whose_farm, GroupInRoom group_in_room)
    : farm(whose_farm),
      clock(farm.clock),
      staff(farm.staff),
      group(group_in_room),
      begins(Time{} + group.loading_day * 1_d),
      settings(farm.settings),
      biology(farm.biology),
      draws(farm.draws),
      records(farm.recording, farm.tables, draws.replicate, settings.counted(), group),
      weather(biology.coefficients, settings, farm.outdoors, group.loading_day),
      appetite_clock(biology.coefficients, light_hours(settings, biology.coefficients)),
      trough_rules(troughs_of(settings, biology.coefficients)),
      clock_of_first_parity(appetite_clock.thermoneutral_weights()),
      clock_of_later_parities(appetite_clock.thermoneutral_weights()),
      generate_sow(settings, biology, draws, group, loading()),
      birth_weight(biology.birth_weight.of(settings.herd.birth_weight_mean_kg, settings.herd.birth_weight_sd_kg)) {
  for (int i = 0; i < settings.sows(); ++i) add_sow(group.first_sow + i, generate_sow(group.first_sow + i));
}

Sow& FarrowingRoom::add_sow(int number, const SowTraits& traits) {
  Sow& sow = sows.emplace_back(number, traits, trough_rules, clock_of_later_parities,
                               biology.body_composition.protein_kg(traits.weight_kg, traits.backfat_mm));
  sow.body.smoothed_intake_mcal = traits.late_gestation_feed_kg_per_day * settings.diet.energy_mcal_per_kg;
  return sow;
}

// She enters at the milk yield of her lactation day and has no colostrum.
void FarrowingRoom::take_in_nurse_sow() {
  const int number = group.first_sow + static_cast<int>(sows.size());
  Sow& sow = add_sow(number, generate_sow.nurse(number, now()));
  sow.labour.last_birth = sow.traits.onset;
  sow.litter.colostrum_is_over = true;
  sow.litter.teats.functional = sow.traits.functional_teats;
  for (int day = 0; day < settings.herd.nurse_sow_lactation_day; ++day)  // her own litter kept her teats in milk
    biology.usable_teats.nurse(sow.litter.teats, day, sow.traits.functional_teats);
  draw_frailty(*this, sow);
  sow.feeding.pool_at = sow.water.noted_at = now();
  begin_lactation(*this, sow);
  const ProcessRef her_stay = clock.spawn(stay_as_nurse(*this, sow).named("stay of nurse sow", sow.number));
  clock.spawn(sow_mortality(*this, sow, her_stay).named("hazards of sow", sow.number));
}

Time FarrowingRoom::loading() const { return begins + loading_time; }

void FarrowingRoom::begin() {
  clock.spawn(turn_days(*this).named("midnight"), Order::environment);
  clock.spawn(daily_routine(*this).named("daily routine"), Order::task);
  clock.spawn(feed_by_the_clock(*this).named("feeding times"), Order::task);
  clock.spawn(go_round_farrowings(*this).named("farrowing rounds"), Order::task);
  clock.spawn(stay_with_farrowings(*this).named("farrowing watch"), Order::task);
  clock.spawn(look_at_machines(*this).named("checks of automatic feeders"), Order::task);
  clock.spawn(go_round_standing_up(*this).named("stand-up rounds"), Order::task);
  clock.spawn(foster_by_plan(*this).named("fostering"), Order::task);
  for (const PrescribedMove& move : settings.moves)
    clock.spawn(move_as_prescribed(*this, move).named("prescribed move"), Order::task);
  for (Sow& sow : sows) {
    const ProcessRef her_stay =
        clock.spawn(stay(*this, sow).named("stay of sow", sow.number), Order::animal, loading());
    clock.spawn(sow_mortality(*this, sow, her_stay).named("hazards of sow", sow.number), Order::animal, loading());
  }
}

void FarrowingRoom::close() {
  if (std::ranges::any_of(sows, [](const Sow& sow) { return !sow.left.reached(); }))
    throw InternalError("a sow is still in labour on the last day of her room");
  for (const Sow& sow : sows) write_rows(*this, sow);
  for (Sow& sow : sows) sow.forget();
}

}  // namespace farrowtide
