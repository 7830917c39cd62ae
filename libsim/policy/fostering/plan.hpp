// Two ways to plan moves, both exact. Pure functions of the current room.
#pragma once

#include <vector>

#include "libsim/policy/fostering/costs.hpp"
#include "libsim/policy/fostering/rule.hpp"

namespace farrowtide {

struct PlannedMoves {
  std::vector<FosterMove> moves;  // in the order of the piglets
  double cost = 0;                // of the room with the moves, less that of the room without
};

/// Fills free teats from litters with too many piglets, and evens out litters where costs.equalise is not 0.
/// Minimises the sum over litters of C(n) = surplus max(0, n - teats)^2 + equalise (n - mean)^2, plus for each piglet
/// moved move + per_kg |its weight - mean of the litter it comes to| + late (if the recipient farrowed over
/// late_after_h ago) - first_parity_credit. No sow takes more piglets than she has teats for, and no more are moved
/// than the rule allows. Solved as a minimum-cost flow: source - donor - piglet - recipient - sink, with the steps of
/// C, which is convex, as unit arcs on both sides, and a bypass arc for moves that do not pay. A litter that both gave
/// and took would pay for both in full, which is never optimal. Ties go to the plan whose piglets and sows come first
/// in the view.
PlannedMoves plan_filling(const FosteringView& view, const FosteringRule& rule, const FosteringCosts& costs);

/// Groups piglets of similar weight: light ones on young sows, and among those on litters that are already light.
///
/// Sows that may take piglets, in that order, are given target weights: the movable piglets, sorted by weight, are
/// divided into parts as large as each sow's own number of them, and her target is the mean of her part, or of her
/// litter if none of it may be moved. Minimises the sum of sort_per_kg |weight - target of the sow it nurses| + surplus
/// max(0, n - teats)^2 + a price for each piglet moved, with no litter larger than its teats or than it was. The price
/// is `move`, raised until no more piglets are moved than the rule allows. So the plan is optimal for its number of
/// moves, but may leave a few moves unused.
PlannedMoves plan_sorting(const FosteringView& view, const FosteringRule& rule, const FosteringCosts& costs);

}  // namespace farrowtide
