// What became of animals and tasks, and what may happen: the kinds that the rows count, and their names.
#pragma once

#include <cstdint>
#include <span>
#include <string_view>

namespace farrowtide {

enum class PigletFate : std::int32_t { stillborn, died, weaned, nursing };
enum class SowFate : std::int32_t { weaned, died, died_of_prolapse };
enum class TaskOutcome : std::int32_t { done, late, undone };
enum class EventKind : std::int32_t {
  sow_loaded,
  feed_delivered,
  meal_eaten,
  trough_spoiled_refused,
  trough_cleaned,
  labour_began,
  piglet_born,
  piglet_stillborn,
  piglet_revived,
  exam_made,
  inertia_began,
  farrowing_finished,
  piglet_died,
  day_balanced,
  litter_weaned,
  shift_began,
  shift_ended,
  drinker_clogged,
  drinker_mended,
  gilt_trained,
  gilt_learned,
  placenta_out,
  fell_ill,
  recovered,
  sign_found,
  sow_treated,
  sow_died,
  piglet_moved,
  scours_began,
  litter_disturbed,
  temperature_taken,
  trough_checked,
  sow_flagged,
  stood_up,
  moves_planned,
  piglets_left_over,
};

std::span<const std::string_view> piglet_fates();
std::span<const std::string_view> death_causes();  // "-", then in the order of DeathCause
std::span<const std::string_view> sow_fates();
std::span<const std::string_view> task_outcomes();
std::span<const std::string_view> event_kinds();
// In the order of TaskKind (model/staff/task.hpp), whose names they are.
std::span<const std::string_view> task_kinds();

}  // namespace farrowtide
