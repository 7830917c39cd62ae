#include "libsim/policy/water/on_suspicion.hpp"

namespace farrowtide {

std::shared_ptr<const WaterPolicy> DrinkersOnSuspicion::read(Section& section) {
  auto policy = std::make_shared<DrinkersOnSuspicion>();
  policy->limit_ = FlowLimit::read(section, UsualFlowLimit::of_the_trade);
  return policy;
}

std::string DrinkersOnSuspicion::describe() const {
  return "drinkers checked once after loading, then only those of sows that do not eat or drink, " + limit_.describe();
}

}  // namespace farrowtide
