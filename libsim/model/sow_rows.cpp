#include "libsim/model/sow_rows.hpp"

#include <algorithm>

#include "libsim/model/farrowing_room.hpp"
#include "libsim/record/rows.hpp"

namespace farrowtide {
namespace {

double hours_since(Time from, const std::optional<Time>& moment) { return moment ? (*moment - from).hours() : missing; }
double hours_since_start(const std::optional<Time>& moment) { return hours_since(Time{}, moment); }

template <class Holds>
std::int32_t count_piglets(const Sow& sow, Holds holds) {
  return static_cast<std::int32_t>(std::ranges::count_if(sow.litter.piglets, holds));
}

void fill_farrowing(const Sow& sow, SowRow& row) {
  row.functional_teats = sow.traits.functional_teats;
  row.total_born = sow.labour.births;
  row.born_alive = sow.litter.born_alive;
  row.stillborn = sow.litter.stillborn;
  row.exams = sow.labour.exams;
  row.assisted_births = count_piglets(sow, [](const Piglet& piglet) { return piglet.assisted; });
  row.attended_births = count_piglets(sow, [](const Piglet& piglet) { return piglet.attended; });
  row.births_on_duty = count_piglets(sow, [](const Piglet& piglet) { return piglet.born_on_duty; });
  row.attended_births_on_duty =
      count_piglets(sow, [](const Piglet& piglet) { return piglet.attended && piglet.born_on_duty; });
  row.induced = sow.traits.induced ? 1 : 0;
  row.gestation_length_d = sow.traits.gestation_length_d;
  if (sow.labour.births > 0) row.farrowing_start_h = hours_since_start(sow.traits.onset);
  if (sow.farrowed.reached()) row.farrowing_duration_min = sow.farrowing_duration_min();
}

void fill_litter(const Sow& sow, SowRow& row) {
  row.weaned = sow.departure->weaned;
  row.litter_weight_at_weaning_kg = sow.departure->litter_weight_kg.value_or(missing);
  row.died_before_weaning = sow.litter.died;
  row.piglets_moved_in = sow.litter.moved_in;
  row.piglets_moved_out = sow.litter.moved_out;
  row.born_here_and_moved = count_piglets(sow, [](const Piglet& piglet) { return piglet.moves > 0; });
  row.orphans_moved = sow.litter.orphans_moved;
  row.orphans_lost = sow.litter.orphans_lost;
  row.scours = sow.litter.has_scoured ? 1 : 0;
}

// Mean intake over the full days from loading to farrowing.
double pre_farrow_intake_kg_per_day(const Sow& sow) {
  double sum_kg = 0;
  int days = 0;
  for (std::size_t i = 1; i < sow.days.size() && sow.days[i].calendar_day < sow.traits.onset.day(); ++i, ++days)
    sum_kg += sow.days[i].eaten_kg;
  return days > 0 ? sum_kg / days : missing;
}

void fill_lactation(const Sow& sow, SowRow& row) {
  constexpr int first_week_d = 7;
  const LactationDays lactation(sow.days, sow.reference_day());
  const double intake_kg_per_day = lactation.mean(&SowDay::eaten_kg);
  row.lactation_length_d = static_cast<double>(sow.departure->at.day() - *sow.day_0);
  row.feed_intake_kg_per_day = intake_kg_per_day;
  row.feed_intake_d1_7_kg_per_day = lactation.until(first_week_d).mean(&SowDay::eaten_kg);
  row.pre_farrow_intake_kg_per_day = pre_farrow_intake_kg_per_day(sow);
  row.feed_offered_kg = static_cast<double>(sow.feeding.trough.offered_g()) / 1000;
  row.feed_undelivered_kg = static_cast<double>(sow.feeding.trough.undelivered_g()) / 1000;
  row.feed_wasted_kg = static_cast<double>(sow.feeding.trough.wasted_g()) / 1000;
  row.feed_removed_kg = static_cast<double>(sow.feeding.trough.removed_g()) / 1000;
  row.trough_mornings = sow.feeding.mornings.read;
  row.empty_mornings = sow.feeding.mornings.empty;
  row.untouched_mornings = sow.feeding.mornings.untouched;
  row.checked_empty_mornings = sow.feeding.mornings_at_check.empty;
  row.checked_untouched_mornings = sow.feeding.mornings_at_check.untouched;
  row.meals_per_day = lactation.meals_per_day();
  row.zero_feed_days = lactation.count_without_feed();
  row.low_feed_days = lactation.count_below(intake_kg_per_day / 2);
  row.water_l_per_day = lactation.mean(&SowDay::water_l);
  row.milk_mcal_per_day = lactation.mean(&SowDay::milk_mcal);
  row.litter_gain_kg_per_day = lactation.mean(&SowDay::litter_gain_kg);
}

void fill_body(const BodyState& body, SowRow& row) {
  row.weight_after_farrowing_kg = body.weight_at_farrowing_kg;
  row.weight_at_weaning_kg = body.weight_kg;
  row.weight_loss_kg = body.weight_loss_kg();
  row.weight_loss_percent = body.weight_loss_percent();
  row.backfat_at_farrowing_mm = body.backfat_at_farrowing_mm;
  row.backfat_loss_mm = body.backfat_at_farrowing_mm - body.backfat_mm;
}

// Days with the disorder: 0 if she was never ill; an illness that lasts until she leaves is counted up to then.
double disorder_days(const Sow& sow) {
  const HealthState& health = sow.health;
  if (!health.fell_ill) return 0;
  if (health.recovered) return (*health.recovered - *health.fell_ill).days();
  return (sow.departure->at - sow.labour.last_birth).days() - (*health.fell_ill - sow.labour.last_birth).hours() / 24;
}

void fill_health_and_water(const Sow& sow, SowRow& row) {
  const HealthState& health = sow.health;
  const Time farrowed = sow.labour.last_birth;
  row.drinker_flow_l_per_min = sow.water.drinker.flow_l_per_min;
  row.low_drinker = sow.water.low_drinker ? 1 : 0;
  row.leg_trouble = sow.traits.leg_trouble ? 1 : 0;
  if (health.placenta) {
    row.placenta_min = health.placenta->expelled_after_min;
    row.placenta_retained = health.placenta->retained ? 1 : 0;
  }
  row.disorder_onset_h = hours_since(farrowed, health.fell_ill);
  row.disorder_days = disorder_days(sow);
  row.found_h = hours_since(farrowed, health.first_sign);
  row.treated_h = hours_since(farrowed, health.first_treated);
  row.rectal_temperature_deg_c = health.rectal_temperature_deg_c.value_or(missing);
}

void fill_next_cycle(const NextCycle& next, SowRow& row) {
  row.anoestrous = next.weaning_to_oestrus_d ? 0 : 1;
  row.weaning_to_oestrus_d = next.weaning_to_oestrus_d.value_or(missing);
  row.farrowing_rate = next.farrowing_rate.value_or(missing);
  row.next_total_born_change = next.total_born_change.value_or(missing);
  row.removal_risk = next.removal_risk;
}

// Hours from loading until she knew how to, 0 if she knew then.
double learned_h(const FarrowingRoom& room, const Skill& skill) {
  if (!skill.known) return missing;
  return skill.learned_at ? hours_since(room.loading(), skill.learned_at) : 0;
}

void fill_learning(const FarrowingRoom& room, const Sow& sow, SowRow& row) {
  if (sow.traits.parity != 1 || sow.traits.nurse) return;
  row.learned_drinker_h = learned_h(room, sow.water.uses_drinker);
  row.learned_feeder_h = learned_h(room, sow.water.uses_feeder);
  const double deadline_h = room.settings.loading->gilts_ready_within().hours();
  row.ready_in_time = row.learned_drinker_h <= deadline_h && row.learned_feeder_h <= deadline_h ? 1 : 0;
}

SowRow sow_row(const FarrowingRoom& room, const Sow& sow) {
  SowRow row;
  row.sow = sow.number;
  row.parity = sow.traits.parity;
  row.nurse = sow.traits.nurse ? 1 : 0;
  row.left_as = static_cast<std::int32_t>(sow.departure->fate);
  row.appetite_effect_log = sow.traits.effects.appetite_log;
  row.milk_effect_log = sow.traits.effects.milk_log;
  row.duration_effect_log = sow.traits.effects.farrowing_duration_log;
  fill_farrowing(sow, row);
  fill_litter(sow, row);
  fill_learning(room, sow, row);
  fill_health_and_water(sow, row);
  if (sow.farrowed.reached()) {
    fill_body(sow.body, row);
    fill_lactation(sow, row);
  }
  if (sow.departure->next_cycle) fill_next_cycle(*sow.departure->next_cycle, row);
  return row;
}

SowDayRow sow_day_row(const Sow& sow, const SowDay& day) {
  SowDayRow row;
  row.sow = sow.number;
  row.parity = sow.traits.parity;
  row.day = sow.lactation_day(day.calendar_day);
  row.farrowed = day.farrowed ? 1 : 0;
  row.appetite_kg = day.appetite_kg;
  row.offered_kg = day.offered_kg;
  row.undelivered_kg = day.undelivered_kg;
  row.eaten_kg = day.eaten_kg;
  row.wasted_kg = day.wasted_kg;
  row.removed_kg = day.removed_kg;
  row.in_trough_at_midnight_kg = day.in_trough_at_midnight_kg;
  row.meals = day.meals;
  row.piglets = day.piglets;
  row.ill = day.ill ? 1 : 0;
  row.water_l = day.water_l;
  row.effective_temperature_deg_c = day.effective_temperature_deg_c;
  row.room_temperature_deg_c = day.room_temperature_deg_c;
  row.weight_kg = day.weight_kg;
  row.weighed_kg = day.weighed_kg;
  row.backfat_mm = day.backfat_mm;
  row.weight_change_kg = day.weight_change_kg;
  row.energy_eaten_mcal = day.energy_eaten_mcal;
  row.maintenance_mcal = day.maintenance_mcal;
  row.milk_mcal = day.milk_mcal;
  row.milk_potential_mcal = day.milk_potential_mcal;
  row.body_energy_change_mcal = day.body_energy_change_mcal;
  row.litter_gain_kg = day.litter_gain_kg;
  return row;
}

PigletRow piglet_row(const Piglet& piglet) {
  const auto threshold = [&](DeathCause cause) { return piglet.thresholds[static_cast<std::size_t>(cause)]; };
  PigletRow row;
  row.sow = piglet.dam->number;
  row.birth_order = piglet.birth_rank;
  row.male = piglet.sex == Sex::male ? 1 : 0;
  row.birth_weight_kg = piglet.birth_weight_kg;
  row.birth_time_h = hours_since_start(piglet.born);
  row.birth_interval_drawn_min = piglet.birth_interval_drawn_min.value_or(missing);
  row.birth_interval_min = piglet.birth_interval_min.value_or(missing);
  row.assisted = piglet.assisted ? 1 : 0;
  row.attended = piglet.attended ? 1 : 0;
  row.born_on_duty = piglet.born_on_duty ? 1 : 0;
  if (piglet.reared_by) {
    row.reared_by = piglet.reared_by->number;
    row.colostrum_g = piglet.colostrum_g;
  }
  row.moves = piglet.moves;
  row.scoured = piglet.has_scoured ? 1 : 0;
  row.fate = static_cast<std::int32_t>(piglet.fate);
  row.cause = piglet.cause_code();
  row.age_at_death_d = piglet.age_at_death_d.value_or(missing);
  row.age_at_weaning_d = piglet.age_at_weaning_d.value_or(missing);
  row.weaning_weight_kg = piglet.weaning_weight_kg.value_or(missing);
  row.threshold_crushed = threshold(DeathCause::crushed);
  row.threshold_starved = threshold(DeathCause::starved);
  row.threshold_other = threshold(DeathCause::other);
  return row;
}

}  // namespace

void write_rows(FarrowingRoom& room, const Sow& sow) {
  const Litter& litter = sow.litter;
  room.records.check_litter(sow.number, static_cast<int>(litter.piglets.size()), litter.stillborn + litter.born_alive);
  room.records.check_litter(sow.number, litter.born_alive + litter.moved_in,
                            litter.nursing() + litter.died + litter.moved_out);
  for (const Piglet& piglet : litter.piglets) room.records.write(piglet_row(piglet));
  for (const SowDay& day : sow.days) room.records.write(sow_day_row(sow, day));
  room.records.write(sow_row(room, sow));
}

}  // namespace farrowtide
