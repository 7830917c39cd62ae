#include "libsim/policy/fostering/moving.hpp"

#include <utility>

#include "libsim/policy/fostering/shortage.hpp"

namespace farrowtide {

FosteringPlan MovingPiglets::plan(const FosteringView& view) const {
  PlannedMoves planned_moves = planned(view, rule_);
  FosteringPlan plan;
  plan.surplus_piglets = surplus_piglets(view);
  plan.free_teats = free_teats(view, rule_);
  plan.what_is_missing = what_is_missing(view, rule_, planned_moves.moves);
  plan.left_over = left_over(view, rule_, planned_moves.moves);
  plan.cost = planned_moves.cost;
  plan.moves = std::move(planned_moves.moves);
  return plan;
}

}  // namespace farrowtide
