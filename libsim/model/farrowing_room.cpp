#include "libsim/model/farrowing_room.hpp"

#include <algorithm>
#include <cmath>
#include <string>

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
#include "libsim/model/weaning.hpp"
#include "libsim/model/work.hpp"

namespace farrowtide {
namespace {

constexpr Duration loading_time = 8_h, weaning_time = 8_h, induction_time = 8_h;  // clock times of the work

TroughRules trough_rules(const FarmSettings& settings, const Coefficients& coefficients) {
  TroughRules rules = TroughRules::standard(coefficients);
  rules.capacity_g = std::llround(settings.equipment.trough_capacity_kg * 1000);
  return rules;
}

LightHours light_hours(const FarmSettings& settings, const Coefficients& coefficients) {
  LightHours light = LightHours::standard(coefficients);
  light.from_h = settings.equipment.light_from_h;
  light.until_h = settings.equipment.light_until_h;
  return light;
}

// The rest of her stay, until somebody has time to wean her litter.
Process<> rear_until_weaned(FarrowingRoom& room, Sow& sow) {
  Simulation& clock = room.clock;
  const Time planned = Time{} + sow.weaning_day * 1_d + weaning_time;
  const auto first = co_await first_of(clock.until(planned, Order::task), sow.weaned_early.wait());
  static_cast<void>(first);
  WorkOrder weaning = work_order(room, TaskKind::wean, sow);
  const ProcessRef work = clock.spawn(carry_out(room, std::move(weaning)).named("weaning of sow", sow.number));
  co_await clock.join(work);
  wean(room, sow);
}

}  // namespace

Process<> stay(FarrowingRoom& room, Sow& sow) {
  Simulation& clock = room.clock;
  room.records.event(room.now(), EventKind::sow_loaded, sow.number, -1, sow.body.weight_kg, sow.parity);
  sow.pool_at = room.now();

  Scoped water{clock, clog(room, sow).named("drinker of sow", sow.number)};
  Scoped lessons{clock, learn(room, sow).named("lessons of sow", sow.number)};
  Scoped meals{clock, eat(room, sow).named("meals of sow", sow.number)};
  co_await clock.until(sow.onset);

  Scoped deaths{clock, litter_mortality(room, sow).named("litter of sow", sow.number)};
  co_await farrow(room, sow);

  Scoped recovery{clock, recover(room, sow).named("recovery of sow", sow.number)};
  Scoped check{clock, have_temperature_taken(room, sow).named("temperature of sow", sow.number)};
  Scoped scours{clock, scour(room, sow).named("scours of litter", sow.number)};

  co_await rear_until_weaned(room, sow);
}

Process<> stay_as_nurse(FarrowingRoom& room, Sow& sow) {
  Simulation& clock = room.clock;
  room.records.event(room.now(), EventKind::sow_loaded, sow.number, -1, sow.body.weight_kg, sow.parity);
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
      clock_of_first_parity(appetite_clock.thermoneutral_weights()),
      clock_of_later_parities(appetite_clock.thermoneutral_weights()),
      herd(biology.herd.with_parity_shares(settings.herd.parity_shares)) {
  for (int i = 0; i < settings.sows(); ++i) add_sow(group.first_sow + i);
}

// Everything a sow brings with her: drawn by her number, whatever is done to her later.
void FarrowingRoom::add_sow(int number) {
  Sow& sow = sows.emplace_back(number, trough_rules(settings, biology.coefficients), clock_of_later_parities);
  const DescribedSow nothing;
  const auto index = static_cast<std::size_t>(number - group.first_sow);
  describe(sow, index < settings.herd.sows.size() ? settings.herd.sows[index] : nothing);
}

void FarrowingRoom::describe(Sow& sow, const DescribedSow& own) {
  const DescribedSow& all = settings.herd.every_sow;
  const auto z = [&](Purpose purpose, std::uint32_t occasion = 0) {
    return draws.normal(purpose, sow.entity(), occasion);
  };
  const auto said = [](const auto& one, const auto& other) { return one ? one : other; };

  sow.parity = said(own.parity, all.parity).value_or(herd.parity(draws.uniform(Purpose::parity, sow.entity())));
  sow.total_born = said(own.total_born, all.total_born).value_or(herd.total_born(sow.parity, z(Purpose::total_born)));
  sow.functional_teats = said(own.functional_teats, all.functional_teats)
                             .value_or(herd.functional_teats(sow.parity, z(Purpose::functional_teats)));
  sow.effects = biology.sow_effects(
      {z(Purpose::sow_effects, 0), z(Purpose::sow_effects, 1), z(Purpose::sow_effects, 2), z(Purpose::sow_effects, 3)});
  sow.constipation_score = biology.constipation(z(Purpose::constipation), settings.diet.fibre);
  sow.late_gestation_feed_kg_per_day = settings.herd.late_gestation_feed_kg_per_day;
  sow.body.weight_kg = said(own.weight_after_farrowing_kg, all.weight_after_farrowing_kg)
                           .value_or(herd.weight_after_farrowing_kg(sow.parity, z(Purpose::weight_after_farrowing)));
  sow.body.backfat_mm = said(own.backfat_mm, all.backfat_mm).value_or(herd.backfat_p2_mm(z(Purpose::backfat)));
  sow.backfat_at_loading_mm = sow.body.backfat_mm;
  sow.body.protein_kg = biology.body_composition.protein_kg(sow.body.weight_kg, sow.body.backfat_mm);

  // Her due day is by her service and the herd's mean; she farrows when her own gestation ends, at an hour that the
  // feeds move.
  const double service_offset_d = biology.gestation.service_offset_d(z(Purpose::service_day));
  sow.gestation_length_d =
      biology.gestation(sow.total_born, z(Purpose::gestation_of_sow), z(Purpose::gestation_of_farrowing));
  const double due_d = group.loading_day + settings.loading->days_before_due() + 0.5 + service_offset_d;
  sow.due_day = static_cast<int>(std::floor(due_d));
  const int first_possible_day = group.loading_day + 1;  // a sow nearer to farrowing would have been loaded earlier
  const auto fixed_day = said(own.farrows_on_day, all.farrows_on_day);
  const int onset_day =
      fixed_day
          ? group.loading_day + *fixed_day
          : std::max(first_possible_day,
                     static_cast<int>(std::floor(due_d + sow.gestation_length_d - biology.gestation.herd_mean_d())));
  std::vector<double> meal_hours;
  for (const Duration round : settings.feeding->pre_farrow_rounds()) meal_hours.push_back(round.hours());
  const double hour = biology.onset_hour(meal_hours, draws.uniform(Purpose::onset_hour, sow.entity()));
  sow.onset = Time{} + onset_day * 1_d + Duration::from_hours(hour);
  induce(sow, due_d);

  if (settings.herd.health == Health::on)
    sow.leg_trouble = biology.leg_trouble.has_it(draws.uniform(Purpose::leg_trouble, sow.entity()));
  sow.drinker.flow_l_per_min = biology.drinkers.flow_l_per_min(
      settings.equipment.drinker_flow_l_per_min, settings.equipment.drinker_flow_cv, z(Purpose::drinker_flow));
  if (sow.parity == 1) {
    const bool drinks = biology.learning.knows_drinker(draws.uniform(Purpose::knows_drinker, sow.entity()));
    const bool eats = biology.learning.knows_feeder(draws.uniform(Purpose::knows_feeder, sow.entity()));
    sow.knows_the_place = drinks && (eats || !settings.herd.new_feeder);
  }

  sow.start_kind = biology.litter_start.kind(draws.uniform(Purpose::bad_start, sow.entity()));
  sow.start_z = z(Purpose::litter_start);
  sow.appetite_noise = z(Purpose::appetite_noise, 0);
}

// Brings her farrowing forward if the scenario has it induced before it would begin by itself.
void FarrowingRoom::induce(Sow& sow, double due_d) {
  if (!settings.induction.schedule) return;
  const double day = std::floor(due_d - biology.gestation.herd_mean_d() + settings.induction.gestation_day);
  const Time given = std::max(loading(), Time{} + Duration::from_hours(day * 24) + induction_time);
  const Time induced = given + Duration::from_hours(biology.induction.delay_h(
                                   *settings.induction.schedule, draws.normal(Purpose::induction, sow.entity())));
  if (given >= sow.onset || induced >= sow.onset) return;
  sow.gestation_length_d -= (sow.onset - induced).days();
  sow.onset = induced;
  sow.induced = true;
}

// She comes with the milk of her day and without colostrum.
void FarrowingRoom::take_in_nurse_sow() {
  add_sow(group.first_sow + static_cast<int>(sows.size()));
  Sow& sow = sows.back();
  const int weaned_after_d = biology.nurse_sow_lactation_day;
  sow.nurse = true;
  sow.parity = std::max(sow.parity, 2);  // one that has just reared a litter well
  sow.knows_the_place = true;
  sow.onset = now() - weaned_after_d * 1_d;
  sow.labour.last_birth = sow.onset;
  sow.litter.colostrum_is_over = true;
  sow.litter.teats.functional = sow.functional_teats;
  for (int day = 0; day < weaned_after_d; ++day)  // her own litter kept them in milk
    biology.usable_teats.nurse(sow.litter.teats, day, sow.functional_teats);
  draw_frailty(*this, sow);
  sow.pool_at = now();
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
  clock.spawn(look_at_machines(*this).named("looks at the machine's troughs"), Order::task);
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
  if (std::ranges::any_of(sows, [](const Sow& sow) { return !sow.left.reached(); })) return;  // the farm refuses it
  for (Sow& sow : sows) write_rows(*this, sow);
  for (Sow& sow : sows) sow.forget();
}

}  // namespace farrowtide
