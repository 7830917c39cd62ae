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
    row.day -= *sow.day_0;
    if (row.day >= 1) lactation.days.push_back(&row);
  }
  return lactation;
}

double pre_farrow_intake_kg_per_day(const Sow& sow) {
  double sum_kg = 0;
  int days = 0;
  const int onset_day = static_cast<int>(sow.onset.day()) - *sow.day_0;
  for (std::size_t i = 1; i < sow.days.size() && sow.days[i].day < onset_day; ++i, ++days)
    sum_kg += sow.days[i].eaten_kg;
  return days > 0 ? sum_kg / days : missing;
}

LactationPast lactation_past(const Sow& sow, const LactationDays& lactation) {
  constexpr int first_two_weeks_d = 14;
  const LactationDays early = lactation.until(first_two_weeks_d);
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
  row.total_born = sow.total_born;
  row.born_alive = sow.litter.born_alive;
  row.stillborn = sow.litter.stillborn;
  row.weaned = sow.litter.nursing();
  row.died_before_weaning = sow.litter.died;
  row.exams = sow.labour.exams;
  for (const Piglet& piglet : sow.litter.piglets) {
    row.assisted_births += piglet.row.assisted;
    row.attended_births += piglet.row.attended;
  }
  row.farrowing_start_h = sow.onset.since_start().hours();
  row.farrowing_duration_min = (sow.labour.last_birth - sow.onset).minutes();
  row.gestation_length_d = sow.gestation_length_d;
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

void write_piglets(FarrowingRoom& room, Sow& sow) {
  for (Piglet& piglet : sow.litter.piglets) {
    if (piglet.life == Life::alive) {
      piglet.row.fate = static_cast<std::int32_t>(PigletFate::weaned);
      piglet.row.colostrum_g = piglet.colostrum_g;
      piglet.row.weaning_weight_kg = piglet.weight_kg;
    }
    room.records.write(piglet.row);
  }
}

}  // namespace

// The end of the stay: what her lactation came to, and what is to be expected of her next cycle.
void wean(FarrowingRoom& room, Sow& sow) {
  SowRow& row = sow.row;
  room.records.check_litter(sow.number, sow.litter.piglets.size(),
                            static_cast<std::size_t>(sow.litter.stillborn + sow.litter.died + sow.litter.nursing()));
  row.sow = sow.number;
  row.parity = sow.parity;
  row.lactation_length_d = static_cast<double>(room.now().day() - *sow.day_0);
  const LactationDays lactation = lactation_days(sow);
  fill_farrowing(sow, row);
  fill_body(sow, row);
  fill_lactation(sow, lactation, row);
  row.litter_weight_at_weaning_kg = sow.litter.weight_kg();
  const LactationPast past = lactation_past(sow, lactation);
  const int interval_d = room.biology.weaning_to_oestrus(past, room.draws.uniform(Purpose::oestrus, sow.entity()));
  row.weaning_to_oestrus_d = interval_d;
  row.farrowing_rate = room.biology.farrowing_rate(past, interval_d);
  row.appetite_effect_log = sow.effects.appetite_log;
  row.milk_effect_log = sow.effects.milk_log;
  row.duration_effect_log = sow.effects.farrowing_duration_log;

  write_piglets(room, sow);
  for (const SowDayRow& day : sow.days) room.records.write(day);
  room.records.write(row);
  sow.weaned.reach();
  room.records.event(room.now(), EventKind::litter_weaned, sow.number, -1, row.litter_weight_at_weaning_kg, row.weaned);
}

}  // namespace farrowtide
