#include "libsim/policy/fostering/weight_line.hpp"

#include <algorithm>

namespace farrowtide {

int WeightLine::add(std::int64_t place) {
  nodes_.emplace_back(place, network_->add_node());
  return nodes_.back().second;
}

void WeightLine::join(std::int64_t cost_of_a_step) {
  std::ranges::sort(nodes_);
  for (std::size_t i = 1; i < nodes_.size(); ++i) {
    const auto [place, node] = nodes_[i - 1];
    const auto [next_place, next] = nodes_[i];
    const std::int64_t cost = (next_place - place) * cost_of_a_step;
    network_->add_arc(node, next, static_cast<int>(nodes_.size()), cost);
    network_->add_arc(next, node, static_cast<int>(nodes_.size()), cost);
  }
}

}  // namespace farrowtide
