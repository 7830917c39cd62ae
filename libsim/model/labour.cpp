#include "libsim/model/labour.hpp"

#include <algorithm>

#include "libsim/kernel/first_of.hpp"
#include "libsim/model/appetite_of_day.hpp"
#include "libsim/model/farrowing_room.hpp"
#include "libsim/model/litter_mortality.hpp"
#include "libsim/model/recovering.hpp"

namespace farrowtide {
namespace {

double room_deg_c_now(const FarrowingRoom& room) {
  return room.weather.today().temperature_deg_c[static_cast<std::size_t>(room.clock.now().hour_of_day())];
}

double since_first_birth_min(const FarrowingRoom& room, const Sow& sow) {
  return (room.clock.now() - sow.traits.onset).minutes();
}

// Fixes at the onset of labour what applies to the whole litter.
void begin_labour(FarrowingRoom& room, Sow& sow) {
  const Biology& biology = room.biology;
  const Draws& draws = room.draws;
  const bool fibre_added = room.settings.diet.fibre == FibreInDiet::added;
  Labour& labour = sow.labour;
  if (sow.feeding.last_meal) labour.hours_since_last_meal = (room.now() - *sow.feeding.last_meal).hours();
  labour.log_modifiers = biology.birth_interval.log_modifiers({.parity = sow.traits.parity,
                                                               .backfat_mm = sow.body.backfat_mm,
                                                               .constipation_score = constipation_score(room, sow),
                                                               .room_deg_c = room_deg_c_now(room),
                                                               .hours_since_last_meal = labour.hours_since_last_meal,
                                                               .place = room.settings.equipment.farrowing_place,
                                                               .fibre_added = fibre_added});
  if (sow.traits.induced)
    labour.log_modifiers += biology.induction.log_interval_multiplier(*room.settings.induction.schedule);
  // From her condition at loading alone, so that it is the same under every policy.
  labour.log_modifiers_at_loading =
      biology.birth_interval.log_modifiers({.parity = sow.traits.parity,
                                            .backfat_mm = sow.traits.backfat_mm,
                                            .constipation_score = sow.traits.constipation_score,
                                            .room_deg_c = biology.no_heat_deg_c});
  labour.inertia.threshold = draws.exponential(Purpose::inertia_threshold, sow.entity(), 0);
  labour.last_birth = room.now();

  Litter& litter = sow.litter;
  litter.stillbirth_logit = biology.stillbirth.litter_logit(
      {.total_born = sow.traits.total_born,
       .parity = sow.traits.parity,
       .backfat_mm = sow.body.backfat_mm,
       .room_deg_c = room_deg_c_now(room),
       .gestation_d = sow.traits.gestation_length_d,
       .litter_effect = biology.stillbirth.litter_effect(draws.normal(Purpose::stillbirth_of_litter, sow.entity())),
       .hours_since_last_meal = labour.hours_since_last_meal,
       .fibre_added = fibre_added,
       .intercept_shift = room.settings.herd.stillbirth_level_logit});
  litter.mean_birth_weight_kg =
      room.birth_weight.litter_mean_kg(sow.traits.total_born * biology.expected_born_alive_share, sow.traits.parity,
                                       draws.normal(Purpose::litter_birth_weight, sow.entity()));
  litter.birth_weight_spread_kg = room.birth_weight.spread_kg(litter.mean_birth_weight_kg,
                                                              sow.traits.total_born * biology.expected_born_alive_share,
                                                              draws.normal(Purpose::birth_weight_spread, sow.entity()));
  draw_frailty(room, sow);
  litter.creep_feed_z = draws.normal(Purpose::creep_feed_of_litter, sow.entity());
  litter.teats.functional = sow.traits.functional_teats;
  litter.colostrum_z = draws.normal(Purpose::colostrum_yield, sow.entity());
  litter.piglets.reserve(static_cast<std::size_t>(sow.traits.total_born));
  litter.hazards.reserve(static_cast<std::size_t>(sow.traits.total_born));
  litter.hazards_at = room.now();
  room.records.event(room.now(), EventKind::labour_began, sow.number, -1, sow.traits.total_born,
                     labour.hours_since_last_meal.value_or(missing));
  room.labour_began.fire();
}

// Undisturbed duration of labour before piglet `birth_rank`, without inertia and assistance [min].
double labour_min(const FarrowingRoom& room, const Sow& sow, int birth_rank, double log_modifiers) {
  const double z = room.draws.normal(Purpose::birth_interval, sow.entity(), static_cast<std::uint32_t>(birth_rank));
  return room.biology.birth_interval(birth_rank, sow.traits.total_born, log_modifiers,
                                     sow.traits.effects.farrowing_duration_log, z);
}

// Checks at the start of a birth interval whether a spell of inertia begins; if so, draws its duration and the
// threshold of the next spell.
void look_for_inertia(FarrowingRoom& room, Sow& sow) {
  InertiaState& inertia = sow.labour.inertia;
  if (!room.biology.inertia.begins(inertia, since_first_birth_min(room, sow))) return;
  const auto spell = static_cast<std::uint32_t>(++sow.labour.inertia_spells);
  inertia.left_min =
      room.biology.inertia.duration_min(room.draws.normal(Purpose::inertia_duration, sow.entity(), spell));
  inertia.threshold = room.draws.exponential(Purpose::inertia_threshold, sow.entity(), spell);
  inertia.accumulated = 0;
  room.records.event(room.now(), EventKind::inertia_began, sow.number, -1, inertia.left_min);
}

void finish_labour(FarrowingRoom& room, Sow& sow) {
  begin_lactation(room, sow);
  room.records.event(room.now(), EventKind::farrowing_finished, sow.number, -1, since_first_birth_min(room, sow),
                     sow.litter.born_alive);
}

Piglet conceived(FarrowingRoom& room, const Sow& sow, int birth_rank) {
  const Biology& biology = room.biology;
  const Draws& draws = room.draws;
  const auto entity = sow.entity_of(birth_rank);
  Piglet piglet;
  piglet.dam = &sow;
  piglet.birth_rank = birth_rank;
  piglet.sex = biology.newborn_traits.sex(draws.uniform(Purpose::sex, entity));
  piglet.splay_legged = biology.newborn_traits.is_splay_legged(draws.uniform(Purpose::splay_legged, entity));
  piglet.birth_weight_kg = room.birth_weight(
      sow.litter.mean_birth_weight_kg, sow.litter.birth_weight_spread_kg, draws.normal(Purpose::birth_weight, entity),
      room.settings.herd.runts ? biology.runts.deficit_kg(sow.traits.total_born * biology.expected_born_alive_share,
                                                          draws.uniform(Purpose::runt, entity))
                               : 0);
  piglet.eats_creep_feed = biology.creep_feed.is_eater(draws.uniform(Purpose::creep_feed_eater, entity));
  piglet.weight_kg = piglet.birth_weight_kg;
  piglet.teat_effect = biology.gain_sharing.teat_effect(draws.normal(Purpose::teat, entity));
  return piglet;
}

// Labour has gone on for so long that piglets still inside are dead.
bool is_over(const FarrowingRoom& room, const Sow& sow) {
  return since_first_birth_min(room, sow) >= room.biology.labour_end.longest_min();
}

bool is_stillborn(FarrowingRoom& room, const Sow& sow, const Piglet& piglet, double interval_min) {
  if (room.settings.herd.mortality == Mortality::off) return false;
  if (is_over(room, sow)) return true;
  const double probability = room.biology.stillbirth.probability(
      sow.litter.stillbirth_logit, {.relative_rank = relative_birth_rank(piglet.birth_rank, sow.traits.total_born),
                                    .since_first_birth_min = since_first_birth_min(room, sow),
                                    .interval_min = interval_min,
                                    .weight_kg = piglet.birth_weight_kg,
                                    .sex = piglet.sex});
  return room.draws.uniform(Purpose::stillborn, sow.entity_of(piglet.birth_rank)) < probability;
}

bool is_revived(FarrowingRoom& room, const Sow& sow, const Piglet& piglet) {
  return room.draws.uniform(Purpose::revived, sow.entity_of(piglet.birth_rank)) <
         room.biology.help.revival_probability(room.settings.attendance->care_intensity());
}

// Draws the thresholds compared with the hazards of the rearing litter; that of scours is drawn if it is born alive.
void draw_thresholds(FarrowingRoom& room, Piglet& piglet) {
  const auto draw = [&](DeathCause cause, Purpose purpose) {
    piglet.thresholds[static_cast<std::size_t>(cause)] = room.draws.exponential(purpose, piglet.entity());
  };
  draw(DeathCause::crushed, Purpose::threshold_crushed);
  draw(DeathCause::starved, Purpose::threshold_starved);
  draw(DeathCause::other, Purpose::threshold_other);
}

enum class Delivery { unaided, assisted };

// The next birth in her litter, alive or stillborn.
void deliver(FarrowingRoom& room, Sow& sow, Delivery delivery, double interval_drawn_min) {
  const int birth_rank = ++sow.labour.births;
  const double interval_min = (room.now() - sow.labour.last_birth).minutes();
  sow.labour.last_birth = room.now();
  Piglet& piglet = sow.litter.piglets.emplace_back(conceived(room, sow, birth_rank));
  piglet.born = room.now();
  draw_thresholds(room, piglet);
  if (birth_rank > 1) {
    piglet.birth_interval_drawn_min = interval_drawn_min;
    piglet.birth_interval_min = interval_min;
  }
  const bool assisted = delivery == Delivery::assisted;
  piglet.assisted = assisted;
  piglet.attended = assisted || sow.labour.people_present > 0 || room.people_watching > 0;
  piglet.born_on_duty = room.staff.capacity() > 0;
  sow.labour.assisted |= assisted;

  if (!is_stillborn(room, sow, piglet, interval_min)) {
    room.records.event(room.now(), EventKind::piglet_born, sow.number, birth_rank, piglet.birth_weight_kg,
                       interval_min);
    come_alive(room, sow, piglet);
    if (room.people_watching > 0) care_for_newborn(room, sow);
    return;
  }
  piglet.life = Life::dead;
  ++sow.litter.stillborn;
  ++sow.litter.dead_to_remove;
  piglet.savable = !is_over(room, sow) && !room.biology.stillbirth.died_before_labour(room.draws.uniform(
                                              Purpose::died_before_labour, sow.entity_of(birth_rank)));
  room.records.event(room.now(), EventKind::piglet_stillborn, sow.number, birth_rank, piglet.birth_weight_kg,
                     interval_min);
  settle_litter(room, sow);
  if (piglet.attended) attend_births(room, sow);
}

}  // namespace

void draw_frailty(FarrowingRoom& room, Sow& sow) {
  const Biology& biology = room.biology;
  const Draws& draws = room.draws;
  Litter& litter = sow.litter;
  litter.birth_frailty = biology.frailty.birth(draws.normal(Purpose::birth_frailty, sow.entity()));
  litter.rear_frailty = biology.frailty.rear(draws.normal(Purpose::rearing_frailty, sow.entity()));
  litter.middle_frailty = biology.frailty.phase(draws.normal(Purpose::middle_frailty, sow.entity()));
  litter.late_frailty = biology.frailty.late_phase(draws.normal(Purpose::late_frailty, sow.entity()));
}

// Mean feed eaten over the last days before farrowing; days before loading have the allowance of late gestation.
double eaten_before_farrowing_kg_per_day(const FarrowingRoom& room, const Sow& sow) {
  const int window_d = room.biology.appetite.pre_farrow_feed().window_d();
  double sum_kg = 0;
  int days = 0;
  for (const SowDay& day : sow.days) {
    const bool partial = day.calendar_day == room.group.loading_day;
    if (partial || day.calendar_day >= sow.traits.onset.day() || day.calendar_day < sow.traits.onset.day() - window_d)
      continue;
    sum_kg += day.eaten_kg;
    ++days;
  }
  return (sum_kg + (window_d - days) * sow.traits.late_gestation_feed_kg_per_day) / window_d;
}

void begin_lactation(FarrowingRoom& room, Sow& sow) {
  sow.day_0 = static_cast<int>(sow.labour.last_birth.day());
  const int planned = room.settings.group.weaning == WeaningRule::each_sow
                          ? *sow.day_0 + room.settings.group.lactation_days
                          : room.group.loading_day + room.settings.weaning_day();
  sow.weaning_day = std::min(planned, room.group.loading_day + room.settings.last_day());  // then the room is emptied
  sow.lactation_curve = &room.biology.lactation_curves.of_length(sow.weaning_day - *sow.day_0);
  BodyState& body = sow.body;
  body.weight_at_farrowing_kg = body.weight_kg;
  body.backfat_at_farrowing_mm = body.backfat_mm;
  body.protein_at_farrowing_kg = body.protein_kg;
  body.smoothed_demand_mcal = room.biology.milk_yield.feed_on_milk().usual_mcal(body.weight_kg);
  sow.feeding.before_farrowing_kg_per_day = eaten_before_farrowing_kg_per_day(room, sow);
  sow.farrowed.reach();
  sow.risk_changed.fire();
  set_appetite(room, sow);
}

void attend_births(FarrowingRoom& room, Sow& sow) {
  for (Piglet& piglet : sow.litter.piglets) {
    if ((room.now() - piglet.born).minutes() > room.biology.help.reach_within_min()) continue;
    piglet.attended = true;
    if (!piglet.savable) continue;
    piglet.savable = false;  // one attempt
    if (!is_revived(room, sow, piglet)) continue;
    --sow.litter.stillborn;
    --sow.litter.dead_to_remove;
    room.records.event(room.now(), EventKind::piglet_revived, sow.number, piglet.birth_rank);
    come_alive(room, sow, piglet);
  }
}

void care_for_newborn(FarrowingRoom& room, Sow& sow) {
  for (Piglet& piglet : sow.litter.piglets) {
    if (piglet.life != Life::alive || piglet.cared_for) continue;
    piglet.cared_for = true;
    piglet.care_log_hazard = room.biology.newborn_care.log_hazard(room.settings.attendance->care_intensity(),
                                                                  (room.now() - piglet.born).minutes());
  }
  sow.litter_changed.fire();
}

Process<> farrow(FarrowingRoom& room, Sow& sow) {
  Simulation& clock = room.clock;
  const Time latest_birth = sow.traits.onset + Duration::from_minutes(room.biology.labour_end.longest_min());
  begin_labour(room, sow);
  deliver(room, sow, Delivery::unaided, missing);
  for (int birth_rank = 2; birth_rank <= sow.traits.total_born; ++birth_rank) {
    look_for_inertia(room, sow);
    const Time started = room.now();
    const double drawn_min = labour_min(room, sow, birth_rank, sow.labour.log_modifiers_at_loading);
    const double undisturbed_min = labour_min(room, sow, birth_rank, sow.labour.log_modifiers);
    const Time by_labour = started + Duration::from_minutes(room.biology.inertia.elapsed_min(
                                         undisturbed_min, sow.labour.inertia.left_min));
    const Time by_itself = std::min(by_labour, std::max(started, latest_birth));
    const auto first = co_await first_of(clock.until(by_itself), sow.helped.wait());
    Delivery delivery = Delivery::unaided;
    if (first.which() == 1) {
      const Time by_help = room.now() + Duration::from_minutes(room.biology.help.delivered_after_min());
      const Time born = std::min(by_help, by_itself);
      delivery = by_help < by_itself ? Delivery::assisted : Delivery::unaided;
      co_await clock.until(born);
    }
    sow.labour.inertia.left_min = std::max(0.0, sow.labour.inertia.left_min - (room.now() - started).minutes());
    deliver(room, sow, delivery, drawn_min);
  }
  finish_labour(room, sow);
}

}  // namespace farrowtide
