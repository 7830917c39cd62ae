// The flow below which a drinker that is looked at is put right, a key of every policy of this family.
#pragma once

#include <string>

#include "libsim/policy/water/water.hpp"

namespace farrowtide {

// What is usual where a policy has no limit of its own.
enum class UsualFlowLimit { only_clogged, of_the_trade };

class FlowLimit {
 public:
  FlowLimit() = default;
  static FlowLimit read(Section& section, UsualFlowLimit usual);

  double l_per_min() const { return l_per_min_; }
  std::string describe() const;  // "clogged ones mended", "those below 2 L/min put right"

 private:
  double l_per_min_ = 0;
};

}  // namespace farrowtide
