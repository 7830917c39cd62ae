#include "libsim/policy/water/every_drinker.hpp"

namespace farrowtide {

std::shared_ptr<const WaterPolicy> EveryDrinker::read(Section& section) {
  auto policy = std::make_shared<EveryDrinker>();
  policy->every_days_ = section.integer({.name = "every",
                                         .low = 0,
                                         .high = 30,
                                         .help = "Days between two checks of every drinker; 0: never, for comparisons "
                                                 "only, because local law may require a daily check.",
                                         .coefficient = "staff.practice.drinker_checked_every"});
  policy->limit_ = FlowLimit::read(section, UsualFlowLimit::only_clogged);
  return policy;
}

std::string EveryDrinker::describe() const {
  if (every_days_ == 0) return "no drinkers checked";
  const std::string when = every_days_ == 1 ? "every day" : "every " + std::to_string(every_days_) + " days";
  return "every drinker checked " + when + ", " + limit_.describe();
}

}  // namespace farrowtide
