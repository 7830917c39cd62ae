#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <string_view>

#include "libsim/kernel/names.hpp"
#include "libsim/kernel/time.hpp"

namespace farrowtide {

class Coefficients;

/// What people do in a farrowing room. Append only: the number is part of the records.
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
};
inline constexpr std::size_t task_kind_count = 24;

/// When a task that was asked for is late.
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

std::string_view name(TaskKind kind);
DueRule due_rule(TaskKind kind);

/// The coefficient of its time, below staff.task_time.
std::string_view time_coefficient(TaskKind kind);

/// What lateness costs the animals, in words for reports; empty where it is only reported.
std::string_view cost_of_lateness(TaskKind kind);

/// Whether the task interrupts routine work.
constexpr bool pre_empts(TaskKind kind) { return kind == TaskKind::assist; }

/// Rank of every task, 1 goes first. Trade practice; kinds the order does not name stand beside their like.
/// Equation:
///   rank [-] = order[kind]
/// Where: kind [-] of the task, as the table beside TaskKind places it
/// Valid: any task
/// Source: common practice, no source
class TaskRanks {
 public:
  explicit TaskRanks(const Coefficients& coefficients);
  int operator()(TaskKind kind) const { return ranks_[static_cast<std::size_t>(kind)]; }

 private:
  std::array<int, task_kind_count> ranks_;
};

/// Time from which a task is late.
/// Equation:
///   late_from [min] = clock_time + due.feed 'for feed; end of the shift for checks and rounds;' asked + due.processing
///     'for processing; the end of washing and drying for the empty room; midnight for others'
/// Where: clock_time [min] of the feeding; asked [min] when it was asked for
/// Valid: any task
/// Source: assumption
class TaskDue {
 public:
  explicit TaskDue(const Coefficients& coefficients);

  /// asked: when it was asked for, for feed its clock time; shift_ends: end of the shift it was asked in; next_group:
  /// when the room must be ready.
  Time operator()(TaskKind kind, Time asked, Time shift_ends, Time next_group) const;

 private:
  Duration feed_, processing_;
};

/// Duration of each task: triangular, walking included, per sow, piglet, crate or room as the coefficient says.
///
/// A full-access top-up takes the time of a look at the trough (feed_by_drop), once a sow-day.
/// Equation:
///   least, mode, most [min] = task_time.* 'of the kind of task'
///   width [min] = most - least
///   minutes [min] = least + sqrt(uniform * width * (mode - least)) if uniform * width < mode - least,
///     else most - sqrt((1 - uniform) * width * (most - mode))
///   walk [min] = spread_gilt_walk 'for a task aimed at one gilt where gilts are spread'
///   catch [min] = mean(catch_piglet) 'for each piglet at each visit after the first where processing is split'
/// Where: uniform [-] draw in 0-1, of the task
/// Valid: people who know the work
/// Source: assumption; processing and washing derived from timed records
class TaskTimes {
 public:
  explicit TaskTimes(const Coefficients& coefficients);

  /// Inverse of the distribution at a uniform in (0, 1).
  double minutes(TaskKind kind, double uniform) const;
  double mean_minutes(TaskKind kind) const;

  /// Added to every task aimed at one gilt where gilts are spread over the room [min].
  double spread_gilt_walk_minutes() const { return spread_gilt_walk_min_; }

  /// Added for each piglet at every visit after the first, where processing is split [min].
  double catch_piglet_minutes() const { return catch_piglet_min_; }

 private:
  struct Triangle {
    double least, mode, most;
  };
  const Triangle& of(TaskKind kind) const { return triangles_[static_cast<std::size_t>(kind)]; }

  std::array<Triangle, task_kind_count> triangles_;
  double spread_gilt_walk_min_, catch_piglet_min_;
};

}  // namespace farrowtide
