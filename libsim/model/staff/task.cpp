#include "libsim/model/staff/task.hpp"

#include <algorithm>
#include <cmath>
#include <string>

#include "libsim/kernel/errors.hpp"
#include "libsim/record/task_catalogue.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

TaskRanks::TaskRanks(const Coefficients& coefficients) {
  const auto& order = coefficients.table("staff.rank.order", "-");
  const auto& places = coefficients.axis_labels("staff.rank.order");
  for (const TaskFacts& task : task_catalogue) {
    const auto place = std::find(places.begin(), places.end(), task.place);
    if (place == places.end()) throw InternalError("staff.rank.order has no place \"" + std::string{task.place} + "\"");
    const auto rank = order.at(static_cast<std::size_t>(place - places.begin()));
    ranks_[static_cast<std::size_t>(task.kind)] = static_cast<int>(std::lround(rank));
  }
}

TaskDue::TaskDue(const Coefficients& coefficients)
    : feed_{Duration::from_minutes(coefficients.number("staff.due.feed", "min"))},
      processing_{Duration::from_hours(coefficients.number("staff.due.processing", "h"))} {}

Time TaskDue::operator()(TaskKind kind, Time asked, Time shift_ends, Time next_group) const {
  switch (facts_of(kind).due) {
    case DueRule::after_feeding_time:
      return asked + feed_;
    case DueRule::end_of_shift:
      return shift_ends;
    case DueRule::within_processing_time:
      return asked + processing_;
    case DueRule::before_next_group:
      return next_group;
    case DueRule::same_day:
      return asked.start_of_day() + 1_d;
  }
  throw InternalError("TaskDue: due rule without a time");
}

TaskTimes::TaskTimes(const Coefficients& coefficients)
    : spread_gilt_walk_min_{coefficients.number("staff.task_time.spread_gilt_walk", "min")} {
  const auto& catching = coefficients.table("staff.task_time.catch_piglet", "min");
  catch_piglet_min_ = (catching.at(0) + catching.at(1) + catching.at(2)) / 3;
  for (const TaskFacts& task : task_catalogue) {
    const auto& corners = coefficients.table("staff.task_time." + std::string{task.time}, "min");
    triangles_[static_cast<std::size_t>(task.kind)] = {corners.at(0), corners.at(1), corners.at(2)};
  }
}

double TaskTimes::minutes(TaskKind kind, double uniform) const {
  const auto [least, mode, most] = of(kind);
  const double width = most - least;
  if (uniform * width < mode - least) return least + std::sqrt(uniform * width * (mode - least));
  return most - std::sqrt((1 - uniform) * width * (most - mode));
}

double TaskTimes::mean_minutes(TaskKind kind) const {
  const auto [least, mode, most] = of(kind);
  return (least + mode + most) / 3;
}

}  // namespace farrowtide
