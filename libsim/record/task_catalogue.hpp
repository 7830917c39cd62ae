// Every kind of task in one row: its name, when it is due and when it is given up, and its other fixed properties. Its
// effect on animals is in model/task_handlers.cpp, also in one row each.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <string_view>

#include "libsim/kernel/names.hpp"

namespace farrowtide {

/// What staff do in a farrowing room. Append only: the number is part of the records.
enum class TaskKind : std::uint8_t {
  load_sow,
  train_gilt,
  pre_farrow_look,
  feed_by_hand,
  feed_by_drop,
  trough_clean,
  trough_check,
  drinker_check,
  stand_up,
  daily_look,
  farrowing_round,
  assist,  ///< an exam
  newborn_care,
  temperature_check,
  treat_sow,
  treat_litter,
  foster_move,
  processing,
  remove_dead,
  wean,
  wash,
  set_up,
  records,
  full_access_top_up,  ///< fill the feeder and look at the trough, once a day
  farrowing_watch,     ///< stay with the sows in labour for a while
};

/// For charts, in which so many kinds cannot be told apart.
enum class TaskGroup : std::uint8_t { feed, farrowing, checks, treatment, piglets, moving };
constexpr auto names(TaskGroup) {
  using enum TaskGroup;
  return std::to_array<Name<TaskGroup>>({{feed, "feed and troughs"},
                                         {farrowing, "farrowing"},
                                         {checks, "checks"},
                                         {treatment, "treatment"},
                                         {piglets, "piglets"},
                                         {moving, "moving, washing, records"}});
}

/// When a requested task is late.
enum class DueRule : std::uint8_t {
  after_feeding_time,
  end_of_shift,
  within_processing_time,
  same_day,
  before_next_group
};
constexpr auto names(DueRule) {
  using enum DueRule;
  return std::to_array<Name<DueRule>>({{after_feeding_time, "after feeding time"},
                                       {end_of_shift, "end of shift"},
                                       {within_processing_time, "within processing time"},
                                       {same_day, "same day"},
                                       {before_next_group, "before next group"}});
}

/// When a task that has not been started is given up.
enum class GiveUpRule : std::uint8_t { at_midnight, after_a_day, at_next_round, never };

/// Whether a task interrupts routine work.
enum class Urgency : std::uint8_t { routine, pre_empts };

struct TaskFacts {
  TaskKind kind;
  std::string_view name;
  TaskGroup group;
  std::string_view place;  ///< on the axis of staff.rank.order
  std::string_view time;   ///< its coefficient under staff.task_time
  DueRule due;
  GiveUpRule give_up;
  std::string_view cost_of_lateness;  ///< to the animals, for reports; empty if lateness is only recorded
  Urgency urgency = Urgency::routine;
};

constexpr auto task_catalogue = [] {
  using enum TaskKind;
  using enum DueRule;
  using enum GiveUpRule;
  using Group = TaskGroup;
  constexpr std::string_view check = "drinker, temperature, other checks", trough = "trough cleaning, adjustment";
  constexpr std::string_view closing = "wean, wash, records";
  // clang-format off
  return std::to_array<TaskFacts>({
      // kind, name, group, place in the order of work, time, due, given up, cost of lateness
      {load_sow, "load sow", Group::moving, check, "load_sow", same_day, at_midnight, ""},
      {train_gilt, "train gilt", Group::checks, check, "train_gilt", end_of_shift, at_midnight,
       "feed and water found late"},
      {pre_farrow_look, "pre-farrow look", Group::checks, check, "pre_farrow_look", end_of_shift, at_midnight, ""},
      {feed_by_hand, "feed by hand", Group::feed, "feed", "feed_by_hand", after_feeding_time, at_midnight,
       "appetite unmet, stale feed"},
      {feed_by_drop, "feed by drop", Group::feed, "feed", "feed_by_drop", after_feeding_time, at_midnight,
       "appetite unmet, stale feed"},
      {trough_clean, "trough clean", Group::feed, trough, "trough_clean", same_day, at_midnight,
       "stale feed stays and is eaten less"},
      {trough_check, "trough check", Group::feed, trough, "trough_check", end_of_shift, at_midnight,
       "wrong allowance"},
      {drinker_check, "drinker check", Group::checks, check, "drinker_check", end_of_shift, at_midnight,
       "a blocked drinker stays blocked"},
      {stand_up, "stand up", Group::checks, "stand-up", "stand_up", end_of_shift, at_midnight, "a meal not prompted"},
      {daily_look, "daily look", Group::checks, check, "daily_look", end_of_shift, at_midnight, "illness found late"},
      {farrowing_round, "farrowing round", Group::farrowing, "farrowing round", "farrowing_round", end_of_shift,
       at_next_round, "births unattended, exam late"},
      {assist, "exam and help", Group::farrowing, "exam and help", "assist", same_day, never,
       "longer labour, more stillborn piglets", Urgency::pre_empts},
      {newborn_care, "newborn care", Group::farrowing, "newborn care", "newborn_care", same_day, at_midnight,
       "care less effective, then ineffective"},
      {temperature_check, "temperature check", Group::checks, check, "temperature_check", end_of_shift, after_a_day,
       "late treatment"},
      {treat_sow, "treat sow", Group::treatment, "treat sow", "treat_sow", same_day, after_a_day, "later recovery"},
      {treat_litter, "treat litter", Group::treatment, "treat sow", "treat_litter", same_day, at_midnight, ""},
      {foster_move, "foster move", Group::piglets, "fostering", "foster_move", same_day, after_a_day,
       "window missed, colostrum gone"},
      {processing, "processing", Group::piglets, "processing", "processing", within_processing_time, at_midnight,
       "above a set age, more disturbance and less gain"},
      {remove_dead, "remove dead", Group::piglets, "remove dead", "remove_dead", same_day, at_midnight, ""},
      {wean, "wean", Group::moving, closing, "wean", same_day, never, ""},
      {wash, "wash", Group::moving, closing, "wash", before_next_group, never, ""},
      {set_up, "set up", Group::moving, closing, "set_up", before_next_group, never, ""},
      {records, "records", Group::moving, closing, "records", same_day, at_midnight, ""},
      {full_access_top_up, "full-access top-up", Group::feed, "feed", "feed_by_drop", after_feeding_time, at_midnight,
       "feeder empty"},
      {farrowing_watch, "farrowing watch", Group::farrowing, "farrowing watch", "farrowing_watch", end_of_shift,
       at_midnight, "births unattended"},
  });
  // clang-format on
}();

constexpr auto names(TaskKind) {
  std::array<Name<TaskKind>, task_catalogue.size()> table{};
  for (std::size_t i = 0; i < table.size(); ++i) {
    table[i] = {task_catalogue[i].kind, task_catalogue[i].name, task_catalogue[i].name};
  }
  return table;
}

constexpr const TaskFacts& facts_of(TaskKind kind) { return task_catalogue.at(static_cast<std::size_t>(kind)); }

}  // namespace farrowtide
