// What a plan of moves could not do, and why.
#pragma once

#include "libsim/policy/fostering/rule.hpp"

namespace farrowtide {

int surplus_piglets(const FosteringView& view);  // above the teats of their litters
int free_teats(const FosteringView& view, const FosteringRule& rule);

// Piglets without a teat once the moves are made, by LeftOver.
std::array<int, 7> left_over(const FosteringView& view, const FosteringRule& rule,
                             const std::vector<FosterMove>& moves);

// "62 surplus piglets, 31 free functional teats; ..."; empty where every piglet has a teat once the moves are made.
std::string what_is_missing(const FosteringView& view, const FosteringRule& rule, const std::vector<FosterMove>& moves);

}  // namespace farrowtide
