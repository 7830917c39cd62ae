#include "libsim/policy/fostering/moving.hpp"

#include <utility>

#include "libsim/policy/fostering/shortage.hpp"

namespace farrowtide {

FosteringPlan MovingPiglets::plan(const FosteringView& view) const {
  PlannedMoves made = planned(view, rule_);
  FosteringPlan plan;
  plan.surplus_piglets = surplus_piglets(view);
  plan.free_teats = free_teats(view, rule_);
  plan.what_is_missing = what_is_missing(view, rule_, made.moves);
  plan.left_over = left_over(view, rule_, made.moves);
  plan.cost = made.cost;
  plan.moves = std::move(made.moves);
  return plan;
}

}  // namespace farrowtide
