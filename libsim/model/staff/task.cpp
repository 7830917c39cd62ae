#include "libsim/model/staff/task.hpp"

#include <algorithm>
#include <cmath>
#include <string>

#include "libsim/kernel/errors.hpp"
#include "libsim/record/kinds.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {
namespace {

struct TaskFacts {
  TaskKind kind;
  std::string_view time;   ///< coefficient below staff.task_time
  std::string_view place;  ///< on the axis of staff.rank.order
  DueRule due;
  std::string_view cost_of_lateness;
};

constexpr std::string_view check = "drinker, temperature, other checks";
constexpr std::string_view closing = "wean, wash, records";

using enum DueRule;
constexpr std::array<TaskFacts, task_kind_count> facts = {{
    {TaskKind::load_sow, "load_sow", check, same_day, ""},
    {TaskKind::train_gilt, "train_gilt", check, end_of_shift, "feed and water found late"},
    {TaskKind::pre_farrow_look, "pre_farrow_look", check, end_of_shift, ""},
    {TaskKind::feed_by_hand, "feed_by_hand", "feed", after_feeding_time, "appetite unmet, stale feed"},
    {TaskKind::feed_by_drop, "feed_by_drop", "feed", after_feeding_time, "appetite unmet, stale feed"},
    {TaskKind::trough_clean, "trough_clean", "trough cleaning, adjustment", same_day, "spoiled feed refused"},
    {TaskKind::trough_check, "trough_check", "trough cleaning, adjustment", end_of_shift, "wrong allowance"},
    {TaskKind::drinker_check, "drinker_check", check, end_of_shift, "a blocked drinker stays blocked"},
    {TaskKind::stand_up, "stand_up", "stand-up", end_of_shift, "a meal not prompted"},
    {TaskKind::daily_look, "daily_look", check, end_of_shift, "illness found late"},
    {TaskKind::farrowing_round, "farrowing_round", "farrowing round", end_of_shift, "births unattended, exam late"},
    {TaskKind::assist, "assist", "exam and help", same_day, "labour goes on, more stillborn"},
    {TaskKind::newborn_care, "newborn_care", "newborn care", same_day, "care works less, then not"},
    {TaskKind::temperature_check, "temperature_check", check, end_of_shift, "treated late"},
    {TaskKind::treat_sow, "treat_sow", "treat sow", same_day, "recovers later"},
    {TaskKind::treat_litter, "treat_litter", "treat sow", same_day, ""},
    {TaskKind::foster_move, "foster_move", "fostering", same_day, "window missed, colostrum gone"},
    {TaskKind::processing, "processing", "processing", within_processing_time,
     "from a set age more disturbance and less gain"},
    {TaskKind::remove_dead, "remove_dead", "remove dead", same_day, ""},
    {TaskKind::wean, "wean", closing, same_day, ""},
    {TaskKind::wash, "wash", closing, before_next_group, ""},
    {TaskKind::set_up, "set_up", closing, before_next_group, ""},
    {TaskKind::records, "records", closing, same_day, ""},
    {TaskKind::full_access_top_up, "feed_by_drop", "feed", after_feeding_time, "feeder empty"},
}};

constexpr bool in_order_of_the_enum() {
  for (std::size_t i = 0; i < facts.size(); ++i) {
    if (facts[i].kind != static_cast<TaskKind>(i)) return false;
  }
  return true;
}
static_assert(in_order_of_the_enum());

const TaskFacts& facts_of(TaskKind kind) { return facts.at(static_cast<std::size_t>(kind)); }

}  // namespace

// The names live with the records that carry them.
std::string_view name(TaskKind kind) { return task_kinds()[static_cast<std::size_t>(kind)]; }
DueRule due_rule(TaskKind kind) { return facts_of(kind).due; }
std::string_view time_coefficient(TaskKind kind) { return facts_of(kind).time; }
std::string_view cost_of_lateness(TaskKind kind) { return facts_of(kind).cost_of_lateness; }

TaskRanks::TaskRanks(const Coefficients& coefficients) {
  const auto& order = coefficients.table("staff.rank.order", "-");
  const auto& places = coefficients.axis_labels("staff.rank.order");
  for (const TaskFacts& task : facts) {
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
  switch (due_rule(kind)) {
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
  throw InternalError("TaskDue: a due rule without a time");
}

TaskTimes::TaskTimes(const Coefficients& coefficients)
    : spread_gilt_walk_min_{coefficients.number("staff.task_time.spread_gilt_walk", "min")} {
  const auto& catching = coefficients.table("staff.task_time.catch_piglet", "min");
  catch_piglet_min_ = (catching.at(0) + catching.at(1) + catching.at(2)) / 3;
  for (const TaskFacts& task : facts) {
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
