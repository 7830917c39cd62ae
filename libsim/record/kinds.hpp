// The fates of animals, the outcomes of tasks and the kinds of event, with the names that records use.
#pragma once

#include <cstdint>

#include "libsim/kernel/names.hpp"

namespace farrowtide {

enum class PigletFate : std::int32_t { stillborn, died, weaned, nursing };
constexpr auto names(PigletFate) {
  using enum PigletFate;
  return std::to_array<Name<PigletFate>>(
      {{stillborn, "stillborn"}, {died, "died"}, {weaned, "weaned"}, {nursing, "nursing"}});
}

enum class DeathCause { crushed, starved, scours, other };
constexpr auto names(DeathCause) {
  using enum DeathCause;
  return std::to_array<Name<DeathCause>>(
      {{crushed, "crushed"}, {starved, "starved or weak"}, {scours, "scours"}, {other, "other"}});
}

// weaned_late: at the end of the room's last day, because nobody had weaned her litter until then.
enum class SowFate : std::int32_t {
  weaned,
  died,
  died_of_prolapse,
  weaned_late,
  died_of_thirst,
  died_of_hunger,
  died_of_heat
};
constexpr auto names(SowFate) {
  using enum SowFate;
  return std::to_array<Name<SowFate>>({{weaned, "weaned"},
                                       {died, "died"},
                                       {died_of_prolapse, "died of a prolapse"},
                                       {weaned_late, "weaned late"},
                                       {died_of_thirst, "died of thirst"},
                                       {died_of_hunger, "died of hunger"},
                                       {died_of_heat, "died of heat"}});
}
constexpr bool is_weaned(SowFate fate) { return fate == SowFate::weaned || fate == SowFate::weaned_late; }

enum class TaskOutcome : std::int32_t { done, late, undone };
constexpr auto names(TaskOutcome) {
  using enum TaskOutcome;
  return std::to_array<Name<TaskOutcome>>({{done, "done"}, {late, "late"}, {undone, "undone"}});
}

// What came of one visit that a task asked for. left_out: written down but not made; called_off: no longer needed.
enum class VisitOutcome : std::int32_t { done, late, undone, left_out, called_off };
constexpr auto names(VisitOutcome) {
  using enum VisitOutcome;
  return std::to_array<Name<VisitOutcome>>(
      {{done, "done"}, {late, "late"}, {undone, "undone"}, {left_out, "left out"}, {called_off, "called off"}});
}

enum class RosterState : std::int32_t { at_work, on_break };
constexpr auto names(RosterState) {
  using enum RosterState;
  return std::to_array<Name<RosterState>>({{at_work, "at work"}, {on_break, "on break"}});
}

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
constexpr auto names(EventKind) {
  using enum EventKind;
  return std::to_array<Name<EventKind>>({
      {sow_loaded, "sow loaded"},
      {feed_delivered, "feed delivered"},
      {meal_eaten, "meal eaten"},
      {trough_spoiled_refused, "stale feed refused"},
      {trough_cleaned, "trough cleaned"},
      {labour_began, "labour began"},
      {piglet_born, "piglet born"},
      {piglet_stillborn, "piglet stillborn"},
      {piglet_revived, "piglet revived"},
      {exam_made, "exam made"},
      {inertia_began, "inertia began"},
      {farrowing_finished, "farrowing finished"},
      {piglet_died, "piglet died"},
      {day_balanced, "day balanced"},
      {litter_weaned, "litter weaned"},
      {shift_began, "shift began"},
      {shift_ended, "shift ended"},
      {drinker_clogged, "drinker clogged"},
      {drinker_mended, "drinker mended"},
      {gilt_trained, "gilt trained"},
      {gilt_learned, "gilt learned"},
      {placenta_out, "placenta out"},
      {fell_ill, "fell ill"},
      {recovered, "recovered"},
      {sign_found, "sign found"},
      {sow_treated, "sow treated"},
      {sow_died, "sow died"},
      {piglet_moved, "piglet moved"},
      {scours_began, "scours began"},
      {litter_disturbed, "litter disturbed"},
      {temperature_taken, "temperature taken"},
      {trough_checked, "trough checked"},
      {sow_flagged, "sow flagged"},
      {stood_up, "stood up"},
      {moves_planned, "moves planned"},
      {piglets_left_over, "piglets left over"},
  });
}

}  // namespace farrowtide
