// A flow network with an exact minimum-cost maximum flow from source to sink.
#pragma once

#include <cstdint>
#include <vector>

namespace farrowtide {

class FlowNetwork {
 public:
  int add_node();
  int nodes() const { return static_cast<int>(leaving_.size()); }
  int add_arc(int from, int to, int capacity, std::int64_t cost);  // returns its number; the cost must not be negative
  int flow(int arc) const { return arcs_[static_cast<std::size_t>(arc)].flow; }

  // Successive shortest paths (Boost.Graph), on integers. Ties between paths are broken by the order in which nodes and
  // arcs were added.
  void send(int source, int sink);

  // Follows one unit of flow from a node to the sink, removes it, and returns the last node before the sink.
  int take_one(int from, int sink);

 private:
  struct Arc {
    int from, to, capacity;
    std::int64_t cost;
    int flow = 0;
  };

  std::vector<Arc> arcs_;
  std::vector<std::vector<int>> leaving_;  // arcs by node
};

}  // namespace farrowtide
