// Two ways to plan moves, both exact. Pure functions of the room as it is.
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
///
/// Least sum over litters of C(n) = surplus max(0, n - teats)^2 + equalise (n - mean)^2, plus for each piglet moved
/// move + per_kg |its weight - mean of the litter it comes to| + late (the recipient farrowed over late_after_h ago)
/// - first_parity_credit. No sow takes more piglets than she has teats for, and no more move than the rule allows.
/// A minimum-cost flow: source - donor - piglet - recipient - sink, with the steps of C as unit arcs on both sides, for
/// C is convex, and an arc past it all for moves that do not pay. A litter that gave and took would pay for both in
/// full, which never pays. Of plans that cost the same, the one whose piglets and sows come first in the view.
PlannedMoves plan_filling(const FosteringView& view, const FosteringRule& rule, const FosteringCosts& costs);

/// Brings piglets of like weight together, the light ones to young sows, and there to litters that are light already.
///
/// Sows that may take, in that order, are given weights to rear: the piglets that may be moved, sorted by weight, in
/// parts as large as her own; the weight is the mean of the part, or of her litter if none of it may be moved. Least
/// sum of sort_per_kg |weight - that of the sow it nurses| + surplus max(0, n - teats)^2 + a price for each piglet
/// moved, with no litter larger than its teats or than it was. The price is `move`, and is raised until no more are
/// moved than the rule allows. So the plan is the best of all with as few moves, but may leave a few moves unused.
PlannedMoves plan_sorting(const FosteringView& view, const FosteringRule& rule, const FosteringCosts& costs);

}  // namespace farrowtide
