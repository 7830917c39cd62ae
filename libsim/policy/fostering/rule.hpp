// Which piglets may be moved, to which sows, when, and how many: the keys shared by all policies that move piglets.
#pragma once

#include <string>
#include <vector>

#include "libsim/policy/fostering/fostering.hpp"
#include "libsim/scenario/section.hpp"

namespace farrowtide {

// Why a piglet may not be moved.
enum class StaysFor { nothing, too_young, too_old, moved_before, sick_litter };

struct FosteringRule {
  std::vector<Duration> times;
  Duration window_from, window_until;  // of age, inclusive
  double max_moved = 0;                // share of the piglets born alive so far
  int closed_after_day = 0;            // of the recipient's lactation
  bool from_sick_litters = false;
  bool only_once = true;
  int nurse_sows = 0;

  static FosteringRule read(Section& section);

  StaysFor reason_to_stay(const FosteringView& view, const PigletView& piglet) const;
  bool may_take(const LitterView& litter) const;                           // one piglet, if there is a teat for it
  std::vector<std::vector<int>> movable(const FosteringView& view) const;  // indices of piglets, by litter
  int max_moves(const FosteringView& view) const;
  int moves_left(const FosteringView& view) const;
  std::string describe() const;
};

}  // namespace farrowtide
