// What a farm plans to do at set times of day, before anything is simulated.
#pragma once

#include <vector>

#include "libsim/kernel/time.hpp"
#include "libsim/model/farm_settings.hpp"
#include "libsim/record/task_catalogue.hpp"

namespace farrowtide {

struct PlannedTask {
  TaskKind kind;
  Duration time;  // of day
};

// Work that staff are asked for at the same times every day, in the order of the families of policies.
std::vector<PlannedTask> planned_work(const FarmSettings& settings);

// The largest amount that the feeding policy puts into one trough at one time, and when.
struct LargestPortion {
  double kg = 0;
  Duration time;
  int lactation_day = 0;  // negative before farrowing
};
LargestPortion largest_portion(const FarmSettings& settings);

}  // namespace farrowtide
