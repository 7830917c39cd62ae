#include "libsim/policy/fostering/flow.hpp"

#include <algorithm>
#include <boost/graph/adjacency_list.hpp>
#include <boost/graph/successive_shortest_path_nonnegative_weights.hpp>

#include "libsim/kernel/errors.hpp"

namespace farrowtide {
namespace {

// Unsigned, because the algorithm adds up the distances of unreachable nodes, which may then wrap around harmlessly.
using Cost = std::uint64_t;
using Traits = boost::adjacency_list_traits<boost::vecS, boost::vecS, boost::directedS>;
using Residual = boost::adjacency_list<
    boost::vecS, boost::vecS, boost::directedS, boost::no_property,
    boost::property<boost::edge_capacity_t, int,
                    boost::property<boost::edge_residual_capacity_t, int,
                                    boost::property<boost::edge_reverse_t, Traits::edge_descriptor,
                                                    boost::property<boost::edge_weight_t, Cost>>>>>;

Traits::edge_descriptor add_edge(Residual& graph, int from, int to, int capacity, Cost cost) {
  const auto edge = boost::add_edge(static_cast<std::size_t>(from), static_cast<std::size_t>(to), graph).first;
  boost::put(boost::edge_capacity, graph, edge, capacity);
  boost::put(boost::edge_weight, graph, edge, cost);
  return edge;
}

}  // namespace

int FlowNetwork::add_node() {
  leaving_.emplace_back();
  return nodes() - 1;
}

int FlowNetwork::add_arc(int from, int to, int capacity, std::int64_t cost) {
  if (cost < 0 || capacity < 0) throw InternalError("an arc of a flow network has a negative cost or capacity");
  leaving_[static_cast<std::size_t>(from)].push_back(static_cast<int>(arcs_.size()));
  arcs_.push_back({from, to, capacity, cost});
  return static_cast<int>(arcs_.size()) - 1;
}

void FlowNetwork::send(int source, int sink) {
  Residual graph(leaving_.size());
  std::vector<Traits::edge_descriptor> edges;
  for (const Arc& arc : arcs_) {
    const auto cost = static_cast<Cost>(arc.cost);
    const auto edge = add_edge(graph, arc.from, arc.to, arc.capacity, cost);
    const auto back = add_edge(graph, arc.to, arc.from, 0, Cost{0} - cost);
    boost::put(boost::edge_reverse, graph, edge, back);
    boost::put(boost::edge_reverse, graph, back, edge);
    edges.push_back(edge);
  }
  boost::successive_shortest_path_nonnegative_weights(graph, static_cast<std::size_t>(source),
                                                      static_cast<std::size_t>(sink));
  for (std::size_t i = 0; i < arcs_.size(); ++i)
    arcs_[i].flow = arcs_[i].capacity - boost::get(boost::edge_residual_capacity, graph, edges[i]);
}

int FlowNetwork::take_one(int from, int sink) {
  const auto& leaving = leaving_[static_cast<std::size_t>(from)];
  const auto used = [&](int arc) { return arcs_[static_cast<std::size_t>(arc)].flow > 0; };
  const auto used_arc = std::ranges::find_if(leaving, used);
  if (used_arc == leaving.end()) throw InternalError("the flow into a node does not leave it");
  Arc& arc = arcs_[static_cast<std::size_t>(*used_arc)];
  --arc.flow;
  return arc.to == sink ? from : take_one(arc.to, sink);
}

}  // namespace farrowtide
