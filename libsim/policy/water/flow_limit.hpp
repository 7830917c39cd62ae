// The flow below which a checked drinker is repaired, a key of every policy of this family.
#pragma once

#include <string>

#include "libsim/policy/water/water.hpp"

namespace farrowtide {

// The default limit of a policy.
enum class UsualFlowLimit { only_clogged, of_the_trade };

class FlowLimit {
 public:
  FlowLimit() = default;
  static FlowLimit read(Section& section, UsualFlowLimit usual);

  double l_per_min() const { return l_per_min_; }
  std::string describe() const;  // "clogged ones repaired", "those below 2 L/min repaired"

 private:
  double l_per_min_ = 0;
};

}  // namespace farrowtide
