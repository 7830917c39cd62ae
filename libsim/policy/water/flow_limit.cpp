#include "libsim/policy/water/flow_limit.hpp"

#include <sstream>

namespace farrowtide {

FlowLimit FlowLimit::read(Section& section, UsualFlowLimit usual) {
  Number key{
      .name = "action_limit",
      .unit = "L/min",
      .low = 0,
      .high = 10,
      .help =
          "A drinker whose flow is found to be below this is repaired to give this flow; about 2 L/min is common "
          "practice. 0: only clogged drinkers are repaired."};
  if (usual == UsualFlowLimit::of_the_trade) {
    key.coefficient = "staff.practice.drinker_action_limit";
  } else {
    key.default_value = 0;
  }
  FlowLimit limit;
  limit.l_per_min_ = section.number(key);
  return limit;
}

std::string FlowLimit::describe() const {
  if (l_per_min_ <= 0) return "clogged ones repaired";
  std::ostringstream text;
  text << "those below " << l_per_min_ << " L/min repaired";
  return text.str();
}

}  // namespace farrowtide
