#include "libsim/policy/water/in_turn.hpp"

namespace farrowtide {

std::shared_ptr<const WaterPolicy> DrinkersInTurn::read(Section& section) {
  auto policy = std::make_shared<DrinkersInTurn>();
  policy->every_days_ = section.integer({.name = "every",
                                         .low = 2,
                                         .high = 30,
                                         .help = "Days within which each drinker is checked once, an equal share of "
                                                 "them every morning; local law may require a daily check of all.",
                                         .coefficient = "staff.practice.drinkers_in_turn_within"});
  policy->limit_ = FlowLimit::read(section, UsualFlowLimit::of_the_trade);
  return policy;
}

std::string DrinkersInTurn::describe() const {
  return "drinkers checked in turn, each once in " + std::to_string(every_days_) + " days, " + limit_.describe();
}

}  // namespace farrowtide
