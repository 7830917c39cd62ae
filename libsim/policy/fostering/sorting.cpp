#include <algorithm>
#include <cstdlib>
#include <limits>
#include <numeric>
#include <tuple>

#include "libsim/policy/fostering/plan.hpp"
#include "libsim/policy/fostering/weight_line.hpp"

namespace farrowtide {
namespace {

double mean_kg(const FosteringView& view, std::span<const int> piglets) {
  double sum_kg = 0;
  for (const int place : piglets) sum_kg += view.piglets[static_cast<std::size_t>(place)].weight_kg;
  return sum_kg / static_cast<double>(piglets.size());
}

// The sorting problem: which piglets may be moved, which sows may take them, and the target weight of each sow.
struct SortingTask {
  const FosteringView& view;
  const FosteringCosts& costs;
  std::vector<std::vector<int>> movable;  // piglets by litter
  std::vector<bool> takes;
  std::vector<double> target_kg;  // of litters that take

  SortingTask(const FosteringView& room, const FosteringRule& rule, const FosteringCosts& all_costs);

  std::int64_t on_line(double kg) const { return costs.whole(costs.sort_per_kg * kg); }
  std::int64_t misfit(const PigletView& piglet, std::size_t at) const {
    return takes[at] ? std::abs(on_line(piglet.weight_kg) - on_line(target_kg[at])) : 0;
  }
  std::vector<std::size_t> from_light_to_heavy() const;
  void set_targets();
};

SortingTask::SortingTask(const FosteringView& room, const FosteringRule& rule, const FosteringCosts& all_costs)
    : view(room), costs(all_costs), movable(rule.movable(room)), target_kg(room.litters.size()) {
  for (const LitterView& litter : room.litters) takes.push_back(rule.may_take(litter));
  set_targets();
}

std::vector<std::size_t> SortingTask::from_light_to_heavy() const {
  std::vector<std::tuple<bool, double, std::size_t>> order;
  for (std::size_t i = 0; i < takes.size(); ++i) {
    const bool old = view.litters[i].parity > costs.suits_light_until_parity;
    if (takes[i] && !movable[i].empty()) order.emplace_back(old, mean_kg(view, movable[i]), i);
  }
  std::ranges::sort(order);
  std::vector<std::size_t> litters;
  for (const auto& entry : order) litters.push_back(std::get<2>(entry));
  return litters;
}

void SortingTask::set_targets() {
  const std::vector<std::size_t> litters = from_light_to_heavy();
  std::vector<int> piglets;
  for (const std::size_t litter : litters)
    piglets.insert(piglets.end(), movable[litter].begin(), movable[litter].end());
  std::ranges::stable_sort(piglets, {},
                           [&](int place) { return view.piglets[static_cast<std::size_t>(place)].weight_kg; });
  const double any_kg = piglets.empty() ? 0 : mean_kg(view, piglets);  // for a sow without piglets
  for (std::size_t i = 0; i < target_kg.size(); ++i)
    target_kg[i] = view.litters[i].nursing > 0 ? view.litters[i].mean_kg : any_kg;
  std::span<const int> rest = piglets;
  for (const std::size_t litter : litters) {
    target_kg[litter] = mean_kg(view, rest.first(movable[litter].size()));
    rest = rest.subspan(movable[litter].size());
  }
}

// Assigns every movable piglet to a sow, most of them to the one they already nurse.
class SortingNetwork {
 public:
  SortingNetwork(const SortingTask& task, std::int64_t price);
  std::vector<FosterMove> cheapest_moves();

 private:
  void add_sow(std::size_t place);
  void add_piglet(int place);

  const SortingTask& task_;
  const std::int64_t price_, tie_scale_;
  FlowNetwork network_;
  WeightLine line_{network_};
  const int source_ = network_.add_node(), sink_ = network_.add_node();
  std::vector<int> sow_node_, piglet_node_;  // by place in the view; -1: none
};

SortingNetwork::SortingNetwork(const SortingTask& task, std::int64_t price)
    : task_(task), price_(price), tie_scale_(tie_scale(task.view)) {
  piglet_node_.resize(task.view.piglets.size(), -1);
  for (std::size_t i = 0; i < task.view.litters.size(); ++i) {
    add_sow(i);
    for (const int piglet : task.movable[i]) add_piglet(piglet);
  }
  line_.join(tie_scale_);
}

void SortingNetwork::add_sow(std::size_t place) {
  const LitterView& litter = task_.view.litters[place];
  const int node = network_.add_node(), movable = static_cast<int>(task_.movable[place].size());
  sow_node_.push_back(node);
  const int least = litter.nursing - movable;
  const int most = task_.takes[place] ? std::max(litter.teats, litter.nursing) : litter.nursing;
  for (int nursing = least; nursing < most; ++nursing)
    network_.add_arc(node, sink_, 1, task_.costs.of_surplus(litter, nursing) * tie_scale_);
  if (task_.takes[place])
    network_.add_arc(line_.add(task_.on_line(task_.target_kg[place])), node, most - least, static_cast<int>(place));
}

void SortingNetwork::add_piglet(int place) {
  const PigletView& piglet = task_.view.piglets[static_cast<std::size_t>(place)];
  const auto own = static_cast<std::size_t>(piglet.litter);
  const int node = network_.add_node();
  piglet_node_[static_cast<std::size_t>(place)] = node;
  network_.add_arc(source_, node, 1, 0);
  network_.add_arc(node, sow_node_[own], 1, task_.misfit(piglet, own) * tie_scale_);
  network_.add_arc(node, line_.add(task_.on_line(piglet.weight_kg)), 1, price_ * tie_scale_ + place);
}

std::vector<FosterMove> SortingNetwork::cheapest_moves() {
  network_.send(source_, sink_);
  std::vector<FosterMove> moves;
  for (std::size_t i = 0; i < piglet_node_.size(); ++i) {
    if (piglet_node_[i] < 0) continue;
    const auto at = std::ranges::find(sow_node_, network_.take_one(piglet_node_[i], sink_));
    const FosterMove move{static_cast<int>(i), static_cast<int>(at - sow_node_.begin())};
    if (move.to != task_.view.piglets[i].litter) moves.push_back(move);
  }
  return moves;
}

// An upper bound on what moving a single piglet can gain.
std::int64_t highest_price(const SortingTask& task) {
  std::int64_t misfit = 0, relief = 0;
  for (const PigletView& piglet : task.view.piglets)
    misfit = std::max(misfit, task.misfit(piglet, static_cast<std::size_t>(piglet.litter)));
  for (const LitterView& litter : task.view.litters)
    relief = std::max(relief, task.costs.of_surplus(litter, litter.nursing - 1));
  return misfit + relief + 1;
}

// Moves at a price that keeps within the limit: the lowest price, or one that uses the limit up. A higher price means
// fewer moves.
std::vector<FosterMove> moves_within(const SortingTask& task, int most) {
  std::int64_t low = task.costs.whole(task.costs.move), high = std::max(low, highest_price(task));
  std::vector<FosterMove> moves = SortingNetwork(task, low).cheapest_moves();
  if (static_cast<int>(moves.size()) <= most) return moves;
  moves.clear();
  while (high - low > 1 && static_cast<int>(moves.size()) < most) {
    const std::int64_t price = std::midpoint(low, high);
    std::vector<FosterMove> fewer = SortingNetwork(task, price).cheapest_moves();
    const bool kept = static_cast<int>(fewer.size()) <= most;
    (kept ? high : low) = price;
    if (kept) moves = std::move(fewer);
  }
  return moves;
}

std::int64_t cost_of(const SortingTask& task, const std::vector<FosterMove>& moves) {
  std::vector<int> nursing;
  for (const LitterView& litter : task.view.litters) nursing.push_back(litter.nursing);
  std::int64_t cost = 0;
  for (const FosterMove& move : moves) {
    const PigletView& piglet = task.view.piglets[static_cast<std::size_t>(move.piglet)];
    const auto from = static_cast<std::size_t>(piglet.litter), to = static_cast<std::size_t>(move.to);
    cost += task.costs.whole(task.costs.move) + task.misfit(piglet, to) - task.misfit(piglet, from);
    cost -= task.costs.of_surplus(task.view.litters[from], --nursing[from]);
    cost += task.costs.of_surplus(task.view.litters[to], nursing[to]++);
  }
  return cost;
}

}  // namespace

PlannedMoves plan_sorting(const FosteringView& view, const FosteringRule& rule, const FosteringCosts& costs) {
  const SortingTask task(view, rule, costs);
  const int most = rule.moves_left(view);
  PlannedMoves plan;
  if (most > 0) plan.moves = moves_within(task, most);
  plan.cost = costs.real(cost_of(task, plan.moves));
  return plan;
}

}  // namespace farrowtide
