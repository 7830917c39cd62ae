#pragma once

#include <array>
#include <cstddef>

#include "libsim/kernel/time.hpp"
#include "libsim/record/task_catalogue.hpp"

namespace farrowtide {

class Coefficients;

/// Priority of every task; 1 is the highest. Trade practice; kinds not named in the order rank with similar tasks.
/// Equation:
///   rank [-] = order[kind]
/// Where: kind [-] of the task, as placed by its row in the task catalogue
/// Valid: any task
/// Source: common practice, no source
class TaskRanks {
 public:
  explicit TaskRanks(const Coefficients& coefficients);
  int operator()(TaskKind kind) const { return ranks_[static_cast<std::size_t>(kind)]; }

 private:
  std::array<int, NameTable<TaskKind>::size> ranks_;
};

/// Time from which a task is late.
/// Equation:
///   late_from [min] = clock_time + due.feed 'for feed; end of the shift for checks and rounds;' asked + due.processing
///     'for processing; the end of washing and drying for the empty room; midnight for all other tasks'
/// Where: clock_time [min] of the feeding; asked [min] time of the request
/// Valid: any task
/// Source: assumption
class TaskDue {
 public:
  explicit TaskDue(const Coefficients& coefficients);

  /// asked: time of the request, for feed the feeding time; shift_ends: end of the shift in which it was requested;
  /// next_group: when the room must be ready.
  Time operator()(TaskKind kind, Time asked, Time shift_ends, Time next_group) const;

 private:
  Duration feed_, processing_;
};

/// Duration of each task: triangular distribution, including walking, per sow, piglet, crate or room as the coefficient
/// states.
///
/// A full-access top-up takes as long as a check of an automatic feeder's trough (feed_by_drop), once per sow and day.
/// Equation:
///   least, mode, most [min] = task_time.* 'of the kind of task'
///   width [min] = most - least
///   minutes [min] = least + sqrt(uniform * width * (mode - least)) if uniform * width < mode - least,
///     else most - sqrt((1 - uniform) * width * (most - mode))
///   walk [min] = spread_gilt_walk 'for a task with one gilt if gilts are spread over the room'
///   catch [min] = mean(catch_piglet) 'for each piglet at each visit after the first if processing is split'
/// Where: uniform [-] random draw in 0-1 for the task
/// Valid: experienced staff
/// Source: assumption; processing and washing derived from timed records
class TaskTimes {
 public:
  explicit TaskTimes(const Coefficients& coefficients);

  /// Quantile of the duration at `uniform` in (0, 1) [min].
  double minutes(TaskKind kind, double uniform) const;
  double mean_minutes(TaskKind kind) const;

  /// Added to every task with one gilt if gilts are spread over the room [min].
  double spread_gilt_walk_minutes() const { return spread_gilt_walk_min_; }

  /// Added per piglet at every visit after the first if processing is split [min].
  double catch_piglet_minutes() const { return catch_piglet_min_; }

 private:
  struct Triangle {
    double least, mode, most;
  };
  const Triangle& of(TaskKind kind) const { return triangles_[static_cast<std::size_t>(kind)]; }

  std::array<Triangle, NameTable<TaskKind>::size> triangles_;
  double spread_gilt_walk_min_, catch_piglet_min_;
};

}  // namespace farrowtide
