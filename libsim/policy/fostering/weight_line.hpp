// Nodes along a scale of weights, joined so that the path from one to another costs their difference: a few arcs
// instead of one for every pair.
#pragma once

#include <utility>
#include <vector>

#include "libsim/policy/fostering/flow.hpp"

namespace farrowtide {

class WeightLine {
 public:
  explicit WeightLine(FlowNetwork& network) : network_(&network) {}

  int add(std::int64_t place);             // a node there
  void join(std::int64_t cost_of_a_step);  // once, after all have been added

 private:
  FlowNetwork* network_;
  std::vector<std::pair<std::int64_t, int>> nodes_;  // place, node
};

}  // namespace farrowtide
