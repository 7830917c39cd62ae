// The rows that a room writes: what each table holds, field by field, with units.
// Times are hours since 00:00 of the scenario's start date. Lactation day 0 is the calendar day of the last birth.
#pragma once

#include <cstdint>
#include <span>
#include <string_view>

#include "libsim/record/kinds.hpp"
#include "libsim/record/table.hpp"

namespace farrowtide {

// One row per sow and lactation.
struct SowRow {
  static constexpr std::string_view table_name = "sows";
  static std::span<const Field<SowRow>> fields();

  std::int32_t replicate = 0, group = 1, room = 1, sow = 0, parity = 0, nurse = 0;
  std::int32_t functional_teats = 0, total_born = 0, born_alive = 0, stillborn = 0, weaned = 0, died_before_weaning = 0;
  std::int32_t exams = 0, assisted_births = 0, attended_births = 0;
  std::int32_t births_on_duty = 0, attended_births_on_duty = 0, induced = 0;
  double farrowing_start_h = missing, farrowing_duration_min = missing, gestation_length_d = missing;
  double lactation_length_d = missing;
  double feed_intake_kg_per_day = missing, feed_intake_d1_7_kg_per_day = missing,
         pre_farrow_intake_kg_per_day = missing;
  double feed_offered_kg = 0, feed_undelivered_kg = 0, feed_wasted_kg = 0, feed_removed_kg = 0, meals_per_day = missing;
  std::int32_t trough_mornings = 0, empty_mornings = 0, untouched_mornings = 0, checked_empty_mornings = 0,
               checked_untouched_mornings = 0;
  std::int32_t zero_feed_days = 0, low_feed_days = 0;
  double weight_after_farrowing_kg = missing, weight_at_weaning_kg = missing, weight_loss_kg = missing,
         weight_loss_percent = missing;
  double backfat_at_farrowing_mm = missing, backfat_loss_mm = missing;
  double milk_mcal_per_day = missing;
  double litter_weight_at_weaning_kg = missing, litter_gain_kg_per_day = missing;
  std::int32_t piglets_moved_in = 0, piglets_moved_out = 0, born_here_and_moved = 0, scours = 0;
  std::int32_t orphans_moved = 0, orphans_lost = 0;
  double water_l_per_day = missing, drinker_flow_l_per_min = missing;
  std::int32_t low_drinker = 0, leg_trouble = 0;
  double learned_drinker_h = missing, learned_feeder_h = missing, ready_in_time = missing, placenta_min = missing;
  std::int32_t placenta_retained = 0;
  double disorder_onset_h = missing, disorder_days = 0, found_h = missing, treated_h = missing,
         rectal_temperature_deg_c = missing;
  std::int32_t left_as = 0;  // SowFate
  std::int32_t anoestrous = 0;
  double weaning_to_oestrus_d = missing, farrowing_rate = missing, next_total_born_change = missing,
         removal_risk = missing;
  double appetite_effect_log = 0, milk_effect_log = 0, duration_effect_log = 0;
};

// One row per sow and day, written at midnight for the day that ended.
struct SowDayRow {
  static constexpr std::string_view table_name = "sow_days";
  static std::span<const Field<SowDayRow>> fields();

  std::int32_t replicate = 0, sow = 0, parity = 0, day = 0, farrowed = 0;
  double appetite_kg = 0, offered_kg = 0, undelivered_kg = 0, eaten_kg = 0, wasted_kg = 0, removed_kg = 0,
         in_trough_at_midnight_kg = 0;
  std::int32_t meals = 0, piglets = 0, ill = 0;
  double water_l = 0;
  double effective_temperature_deg_c = 0, room_temperature_deg_c = 0;
  double weight_kg = 0, weighed_kg = 0, backfat_mm = 0, weight_change_kg = 0;
  double energy_eaten_mcal = 0, maintenance_mcal = 0, milk_mcal = 0, milk_potential_mcal = 0,
         body_energy_change_mcal = 0;
  double litter_gain_kg = 0;
};

// One row per piglet born.
struct PigletRow {
  static constexpr std::string_view table_name = "piglets";
  static std::span<const Field<PigletRow>> fields();

  std::int32_t replicate = 0, sow = 0, birth_order = 0, male = 0;
  double birth_weight_kg = 0, birth_time_h = 0, birth_interval_drawn_min = missing, birth_interval_min = missing;
  std::int32_t assisted = 0, attended = 0, born_on_duty = 0;
  std::int32_t reared_by = -1, moves = 0, scoured = 0;
  std::int32_t fate = 0;   // PigletFate
  std::int32_t cause = 0;  // 0: none, else 1 + DeathCause
  double age_at_death_d = missing, colostrum_g = missing;
  double age_at_weaning_d = missing, weaning_weight_kg = missing;
  double threshold_crushed = 0, threshold_starved = 0, threshold_other = 0;
};

// One row per room and hour.
struct RoomHourRow {
  static constexpr std::string_view table_name = "rooms";
  static std::span<const Field<RoomHourRow>> fields();

  std::int32_t replicate = 0, group = 1, hour = 0;
  double outdoor_deg_c = 0, temperature_deg_c = 0, set_point_deg_c = 0, relative_humidity_percent = 0, heater_kwh = 0;
};

// One row per task requested of the staff; a round over many animals is one task.
struct TaskRow {
  static constexpr std::string_view table_name = "tasks";
  static std::span<const Field<TaskRow>> fields();

  std::int32_t replicate = 0, group = 1, kind = 0, sow = -1, animals = 0;
  double asked_h = 0, due_h = 0, started_h = missing, done_h = missing, minutes = 0;
  std::int32_t interruptions = 0, outcome = 0;  // TaskOutcome
};

// One row per hour of the day and kind of task on which people worked in it, over all days counted.
struct WorkHourRow {
  static constexpr std::string_view table_name = "work_hours";
  static std::span<const Field<WorkHourRow>> fields();

  std::int32_t replicate = 0, hour = 0, kind = 0;  // TaskKind
  double minutes = 0;
};

// One row per hour of the day with people on duty, over all days counted.
struct DutyHourRow {
  static constexpr std::string_view table_name = "duty_hours";
  static std::span<const Field<DutyHourRow>> fields();

  std::int32_t replicate = 0, hour = 0;
  double on_duty_min = 0, days = 0;
};

// One row per visit that a task asked for: to a sow, an empty crate or the room. Recorded with the causes.
struct VisitRow {
  static constexpr std::string_view table_name = "visits";
  static std::span<const Field<VisitRow>> fields();

  std::int32_t replicate = 0, group = 1, kind = 0, sow = -1;
  double asked_h = 0, due_h = 0, given_up_h = missing, started_h = missing, done_h = missing, minutes = missing;
  std::int32_t outcome = 0;  // VisitOutcome
};

// One row per uninterrupted stretch of work by one person with one sow. Recorded with the causes.
struct StretchRow {
  static constexpr std::string_view table_name = "stretches";
  static std::span<const Field<StretchRow>> fields();

  std::int32_t replicate = 0, kind = 0, sow = -1;
  double from_h = 0, until_h = 0;
};

// One row per period with the same number of people at work or on break. Recorded with the causes.
struct RosterRow {
  static constexpr std::string_view table_name = "roster";
  static std::span<const Field<RosterRow>> fields();

  std::int32_t replicate = 0, state = 0;  // RosterState
  double from_h = 0, until_h = 0;
  std::int32_t people = 0;
};

// One row per death of a live-born piglet: what its hazard was made of at that moment. Recorded with the causes.
struct DeathRow {
  static constexpr std::string_view table_name = "deaths";
  static std::span<const Field<DeathRow>> fields();

  std::int32_t replicate = 0, sow = 0, birth_order = 0, reared_by = 0, cause = 0;  // 1 + DeathCause
  std::int32_t orphaned = 0;
  double time_h = 0, age_h = 0, birth_weight_kg = 0, weight_kg = 0, below_mates_kg = 0, colostrum_g = 0;
  double room_deg_c = 0, surplus_piglets = 0, unfed_share = 0, farrowing_duration_min = 0;
  std::int32_t stillborn = 0, moves = 0, splay_legged = 0, scouring = 0, cared_for = -1;
  std::int32_t parity = 0, pen = 0, sow_ill = 0, sow_lame = 0, low_drinker = 0, bad_start = 0;
  double hazard_per_day = missing, base_hazard_per_day = missing;
  double birth_weight_ratio = missing, colostrum_ratio = missing, below_mates_ratio = missing,
         temperature_ratio = missing, surplus_ratio = missing, unfed_ratio = missing, farrowing_ratio = missing,
         stillborn_ratio = missing, moves_ratio = missing, splay_legs_ratio = missing, sow_ratio = missing,
         place_ratio = missing, care_ratio = missing, parity_ratio = missing, litter_ratio = missing;
};

// One row per event.
struct EventRow {
  static constexpr std::string_view table_name = "events";
  static std::span<const Field<EventRow>> fields();

  std::int32_t replicate = 0;
  double time_h = 0;
  std::int32_t what = 0;  // EventKind
  std::int32_t sow = -1, piglet = -1;
  double amount = missing, detail = missing;
};

}  // namespace farrowtide
