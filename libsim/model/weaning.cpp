#include "libsim/model/weaning.hpp"

#include <algorithm>
#include <numeric>

#include "libsim/model/farrowing_room.hpp"

namespace farrowtide {
namespace {

struct LactationDays {
  std::vector<const SowDayRow*> days;  // whole lactation days, from day 1

  double sum(double SowDayRow::*field) const {
    return std::accumulate(days.begin(), days.end(), 0.0,
                           [&](double sum, const SowDayRow* row) { return sum + row->*field; });
  }
  double mean(double SowDayRow::*field) const {
    return days.empty() ? missing : sum(field) / static_cast<double>(days.size());
  }
  LactationDays until(int last_day) const {
    LactationDays early;
    std::ranges::copy_if(days, std::back_inserter(early.days),
                         [&](const SowDayRow* row) { return row->day <= last_day; });
    return early;
  }
  int count_below(double kg) const {
    return static_cast<int>(std::ranges::count_if(days, [&](const SowDayRow* row) { return row->eaten_kg < kg; }));
  }
};

// Calendar days become lactation days now that the day of the last birth is known.
LactationDays lactation_days(Sow& sow) {
  LactationDays lactation;
  for (SowDayRow& row : sow.days) {
    row.day -= sow.reference_day();
    if (row.farrowed && row.day >= 1) lactation.days.push_back(&row);
  }
  return lactation;
}

double pre_farrow_intake_kg_per_day(const Sow& sow) {
  double sum_kg = 0;
  int days = 0;
  const int onset_day = static_cast<int>(sow.onset.day()) - sow.reference_day();
  for (std::size_t i = 1; i < sow.days.size() && sow.days[i].day < onset_day; ++i, ++days)
    sum_kg += sow.days[i].eaten_kg;
  return days > 0 ? sum_kg / days : missing;
}

LactationPast lactation_past(const Biology& biology, const Sow& sow, const LactationDays& lactation) {
  const LactationDays early = lactation.until(biology.removal_risk.window_last_day());
  LactationPast past;
  past.parity = sow.parity;
  past.piglets = sow.litter.nursing();
  past.intake_kg_per_day = lactation.mean(&SowDayRow::eaten_kg);
  past.lactation_length_d = sow.row.lactation_length_d;
  past.weight_loss_pct = sow.row.weight_loss_percent;
  past.weight_loss_kg_per_day = sow.row.weight_loss_kg / sow.row.lactation_length_d;
  past.farrowing_duration_min = sow.row.farrowing_duration_min;
  past.early_intake_kg_per_day = early.mean(&SowDayRow::eaten_kg);
  past.zero_feed_day_early = std::ranges::any_of(early.days, [](const SowDayRow* row) { return row->eaten_kg <= 0; });
  return past;
}

void fill_farrowing(const Sow& sow, SowRow& row) {
  row.total_born = sow.labour.births;
  row.born_alive = sow.litter.born_alive;
  row.stillborn = sow.litter.stillborn;
  row.piglets_moved_in = sow.litter.moved_in;
  row.piglets_moved_out = sow.litter.moved_out;
  row.died_before_weaning = sow.litter.died;
  row.exams = sow.labour.exams;
  for (const Piglet& piglet : sow.litter.piglets) {
    row.assisted_births += piglet.row.assisted;
    row.attended_births += piglet.row.attended;
    row.born_here_and_moved += piglet.row.moves > 0;
  }
  row.gestation_length_d = sow.gestation_length_d;
  if (sow.labour.births > 0) row.farrowing_start_h = sow.onset.since_start().hours();
  if (sow.farrowed.reached()) row.farrowing_duration_min = (sow.labour.last_birth - sow.onset).minutes();
}

void fill_lactation(const Sow& sow, const LactationDays& lactation, SowRow& row) {
  constexpr int first_week_d = 7;
  row.feed_intake_kg_per_day = lactation.mean(&SowDayRow::eaten_kg);
  row.feed_intake_d1_7_kg_per_day = lactation.until(first_week_d).mean(&SowDayRow::eaten_kg);
  row.pre_farrow_intake_kg_per_day = pre_farrow_intake_kg_per_day(sow);
  row.feed_wasted_kg = static_cast<double>(sow.trough.wasted_g()) / 1000;
  row.feed_removed_kg = static_cast<double>(sow.trough.removed_g()) / 1000;
  const double meals = std::accumulate(lactation.days.begin(), lactation.days.end(), 0.0,
                                       [](double sum, const SowDayRow* day) { return sum + day->meals; });
  row.meals_per_day = lactation.days.empty() ? missing : meals / static_cast<double>(lactation.days.size());
  row.zero_feed_days = static_cast<std::int32_t>(
      std::ranges::count_if(lactation.days, [](const SowDayRow* day) { return day->eaten_kg <= 0; }));
  row.low_feed_days = lactation.count_below(row.feed_intake_kg_per_day / 2);
  row.water_l_per_day = lactation.mean(&SowDayRow::water_l);
  row.milk_mcal_per_day = lactation.mean(&SowDayRow::milk_mcal);
  row.litter_gain_kg_per_day = lactation.mean(&SowDayRow::litter_gain_kg);
}

void fill_body(const Sow& sow, SowRow& row) {
  const BodyState& body = sow.body;
  row.weight_after_farrowing_kg = body.weight_at_farrowing_kg;
  row.weight_at_weaning_kg = body.weight_kg;
  row.weight_loss_kg = body.weight_at_farrowing_kg - body.weight_kg;
  row.weight_loss_percent = row.weight_loss_kg / body.weight_at_farrowing_kg * 100;
  row.backfat_at_farrowing_mm = body.backfat_at_farrowing_mm;
  row.backfat_loss_mm = body.backfat_at_farrowing_mm - body.backfat_mm;
}

// What is to be expected of her next cycle.
void fill_next_cycle(FarrowingRoom& room, Sow& sow, const LactationDays& lactation) {
  const Biology& biology = room.biology;
  const LactationPast past = lactation_past(biology, sow, lactation);
  const int interval_d = biology.weaning_to_oestrus(past, room.draws.uniform(Purpose::oestrus, sow.entity()));
  sow.row.weaning_to_oestrus_d = interval_d;
  sow.row.farrowing_rate = biology.farrowing_rate(past, interval_d);
  sow.row.next_total_born_change = biology.next_total_born(past, biology.usual_weight_loss_kg_per_day);
  sow.row.removal_risk = biology.removal_risk(past, interval_d);
}

void fill_health(const FarrowingRoom& room, const Sow& sow, SowRow& row) {
  row.low_drinker = sow.low_drinker ? 1 : 0;
  row.leg_trouble = sow.leg_trouble ? 1 : 0;
  row.drinker_flow_l_per_min = sow.drinker.flow_l_per_min;
  if (sow.illness.ill)
    row.disorder_days = (room.clock.now() - sow.labour.last_birth).days() - row.disorder_onset_h / 24;
}

void write_piglets(FarrowingRoom& room, Sow& dam) {
  for (Piglet& piglet : dam.litter.piglets) {
    if (piglet.reared_by) {
      piglet.row.colostrum_g = piglet.colostrum_g;
      piglet.row.reared_by = piglet.reared_by->number;
    }
    room.records.write(piglet.row);
  }
}

}  // namespace

void leave(FarrowingRoom& room, Sow& sow, SowFate fate) {
  SowRow& row = sow.row;
  row.sow = sow.number;
  row.parity = sow.parity;
  row.nurse = sow.nurse ? 1 : 0;
  row.left_as = static_cast<std::int32_t>(fate);
  row.appetite_effect_log = sow.effects.appetite_log;
  row.milk_effect_log = sow.effects.milk_log;
  row.duration_effect_log = sow.effects.farrowing_duration_log;
  const LactationDays lactation = lactation_days(sow);
  fill_health(room, sow, row);
  if (sow.farrowed.reached()) {
    row.lactation_length_d = static_cast<double>(room.now().day() - *sow.day_0);
    fill_body(sow, row);
    fill_lactation(sow, lactation, row);
  }
  if (fate == SowFate::weaned) {
    row.weaned = sow.litter.nursing();
    row.litter_weight_at_weaning_kg = sow.litter.weight_kg();
    fill_next_cycle(room, sow, lactation);
  }
  sow.left.reach();
  sow.stage_changed.fire();
}

void wean(FarrowingRoom& room, Sow& sow) {
  for (Piglet* piglet : sow.litter.sucklings) {
    piglet->row.fate = static_cast<std::int32_t>(PigletFate::weaned);
    piglet->row.weaning_weight_kg = piglet->weight_kg;
  }
  leave(room, sow, SowFate::weaned);
  room.records.event(room.now(), EventKind::litter_weaned, sow.number, -1, sow.row.litter_weight_at_weaning_kg,
                     sow.row.weaned);
}

void write_rows(FarrowingRoom& room, Sow& sow) {
  const Litter& litter = sow.litter;
  room.records.check_litter(sow.number, static_cast<int>(litter.piglets.size()), litter.stillborn + litter.born_alive);
  room.records.check_litter(sow.number, litter.born_alive + litter.moved_in,
                            litter.nursing() + litter.died + litter.moved_out);
  fill_farrowing(sow, sow.row);
  write_piglets(room, sow);
  for (const SowDayRow& day : sow.days) room.records.write(day);
  room.records.write(sow.row);
}

}  // namespace farrowtide
