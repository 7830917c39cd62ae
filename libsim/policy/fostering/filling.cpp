#include <algorithm>
#include <cstdlib>

#include "libsim/policy/fostering/plan.hpp"
#include "libsim/policy/fostering/weight_line.hpp"

namespace farrowtide {
namespace {

// Integer costs of single steps, for the k-th piglet that leaves or joins a litter.
struct Steps {
  const FosteringCosts& costs;
  double mean;

  std::int64_t giving(const LitterView& litter, int k) const {
    return -costs.of_one_more(litter, litter.nursing - k, mean);
  }
  std::int64_t taking(const LitterView& litter, int k) const {
    return costs.of_one_more(litter, litter.nursing + k - 1, mean) + costs.of_taking(litter);
  }
  std::int64_t on_line(double kg) const { return costs.whole(costs.per_kg * kg); }
  std::int64_t carrying(const PigletView& piglet, const LitterView& to) const {
    const std::int64_t way = to.nursing > 0 ? on_line(piglet.weight_kg) - on_line(to.mean_kg) : 0;
    return costs.whole(costs.move) + std::abs(way);
  }
  // Steps grow with k, so the first is the lowest.
  std::int64_t lowest(const FosteringView& view) const {
    std::int64_t lowest = 0;
    for (const LitterView& litter : view.litters) lowest = std::min({lowest, giving(litter, 1), taking(litter, 1)});
    return lowest;
  }
};

// Steps are lifted so that no arc is negative, and the bypass arc by twice as much. Costs are multiplied by tie_scale_,
// and the indices of piglet and sow in the view added: too small to outweigh a cost, enough to break ties.
class FillingNetwork {
  struct Candidate {
    int piglet;     // place in the view
    int node, arc;  // its own, and the arc that leads to it
  };

 public:
  FillingNetwork(const FosteringView& view, const FosteringRule& rule, const FosteringCosts& costs);
  std::vector<FosterMove> cheapest_moves();

 private:
  std::int64_t lifted(std::int64_t step) const { return (step + lift_) * tie_scale_; }
  void add_giving(int from, const LitterView& litter, const std::vector<int>& movable);
  void add_taking(int place);

  const FosteringView& view_;
  const Steps steps_;
  const std::int64_t lift_, tie_scale_;
  FlowNetwork network_;
  WeightLine line_{network_};
  const int source_ = network_.add_node(), sink_ = network_.add_node();
  std::vector<Candidate> candidates_;
  std::vector<int> sow_at_;  // places in the view, by node
};

FillingNetwork::FillingNetwork(const FosteringView& view, const FosteringRule& rule, const FosteringCosts& costs)
    : view_(view), steps_{costs, mean_litter(view)}, lift_(-steps_.lowest(view)), tie_scale_(tie_scale(view)) {
  const int most = rule.moves_left(view), start = network_.add_node();
  network_.add_arc(source_, start, most, 0);
  network_.add_arc(start, sink_, most, 2 * lifted(0));
  const auto movable = rule.movable(view);
  for (std::size_t i = 0; i < movable.size(); ++i) add_giving(start, view.litters[i], movable[i]);
  for (std::size_t i = 0; i < view.litters.size(); ++i)
    if (rule.may_take(view.litters[i])) add_taking(static_cast<int>(i));
  line_.join(tie_scale_);
}

void FillingNetwork::add_giving(int from, const LitterView& litter, const std::vector<int>& movable) {
  const int donor = network_.add_node();
  for (int k = 1; k <= static_cast<int>(movable.size()); ++k)
    network_.add_arc(from, donor, 1, lifted(steps_.giving(litter, k)));
  for (const int place : movable) {
    const int node = line_.add(steps_.on_line(view_.piglets[static_cast<std::size_t>(place)].weight_kg));
    const std::int64_t cost = steps_.costs.whole(steps_.costs.move) * tie_scale_ + place;
    candidates_.push_back({place, node, network_.add_arc(donor, node, 1, cost)});
  }
}

// Called after every add_giving. A sow without piglets has no mean weight, and any piglet suits her equally.
void FillingNetwork::add_taking(int place) {
  const LitterView& litter = view_.litters[static_cast<std::size_t>(place)];
  const bool empty = litter.nursing == 0;
  const int node = empty ? network_.add_node() : line_.add(steps_.on_line(litter.mean_kg));
  if (empty)
    for (const Candidate& candidate : candidates_) network_.add_arc(candidate.node, node, 1, 0);
  for (int k = 1; k <= litter.teats - litter.nursing; ++k)
    network_.add_arc(node, sink_, 1, lifted(steps_.taking(litter, k)) + place);
  sow_at_.resize(static_cast<std::size_t>(network_.nodes()), -1);
  sow_at_.back() = place;
}

std::vector<FosterMove> FillingNetwork::cheapest_moves() {
  network_.send(source_, sink_);
  std::vector<FosterMove> moves;
  for (const Candidate& candidate : candidates_) {
    if (network_.flow(candidate.arc) == 0) continue;
    const int sow = sow_at_[static_cast<std::size_t>(network_.take_one(candidate.node, sink_))];
    moves.push_back({candidate.piglet, sow});
  }
  std::ranges::sort(moves, {}, &FosterMove::piglet);
  return moves;
}

std::int64_t cost_of(const FosteringView& view, const Steps& steps, const std::vector<FosterMove>& moves) {
  std::vector<int> given(view.litters.size()), taken(view.litters.size());
  std::int64_t cost = 0;
  for (const FosterMove& move : moves) {
    const PigletView& piglet = view.piglets[static_cast<std::size_t>(move.piglet)];
    const auto from = static_cast<std::size_t>(piglet.litter), to = static_cast<std::size_t>(move.to);
    cost += steps.giving(view.litters[from], ++given[from]) + steps.carrying(piglet, view.litters[to]) +
            steps.taking(view.litters[to], ++taken[to]);
  }
  return cost;
}

}  // namespace

PlannedMoves plan_filling(const FosteringView& view, const FosteringRule& rule, const FosteringCosts& costs) {
  PlannedMoves plan;
  plan.moves = FillingNetwork(view, rule, costs).cheapest_moves();
  plan.cost = costs.real(cost_of(view, {costs, mean_litter(view)}, plan.moves));
  return plan;
}

}  // namespace farrowtide
