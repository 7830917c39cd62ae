#include "libsim/model/planned_work.hpp"

#include <span>

namespace farrowtide {

std::vector<PlannedTask> planned_work(const FarmSettings& settings) {
  std::vector<PlannedTask> tasks;
  const auto add = [&tasks](TaskKind kind, std::span<const Duration> times) {
    for (const Duration time : times) tasks.push_back({kind, time});
  };
  const FeedingPolicy& feeding = *settings.feeding;
  if (!feeding.dropped_by_machine()) add(TaskKind::feed_by_hand, feeding.rounds());
  if (const auto look = feeding.machine_look_at()) tasks.push_back({TaskKind::feed_by_drop, *look});
  add(TaskKind::stand_up, settings.care->stand_up_rounds());
  add(TaskKind::foster_move, settings.fostering->times());
  for (const PrescribedMove& move : settings.moves) tasks.push_back({TaskKind::foster_move, move.time});
  return tasks;
}

LargestPortion largest_portion(const FarmSettings& settings) {
  constexpr int parity = 3;  // of a sow in her prime
  LargestPortion largest;
  for (int day = -settings.loading->days_before_due(); day <= settings.group.lactation_days; ++day) {
    for (const Duration round : settings.feeding->rounds()) {
      const auto decision =
          settings.feeding->decide({.parity = parity, .farrowed = day >= 0, .day = day, .round = round});
      if (decision && decision->access == FeedAccess::by_hand && decision->offer_kg > largest.kg)
        largest = {decision->offer_kg, round, day};
    }
  }
  return largest;
}

}  // namespace farrowtide
