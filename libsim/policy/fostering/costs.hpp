// The cost of a plan of moves, in units that only weigh one aim against another.
#pragma once

#include <cstdint>

#include "libsim/policy/fostering/fostering.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

struct FosteringCosts {
  double surplus;   // per squared piglet above the litter's teats
  double equalise;  // per squared piglet away from the mean litter
  double move;
  double per_kg;  // between a moved piglet and the mean of the litter it comes to
  double late;    // to a sow that farrowed over late_after_h ago
  double late_after_h;
  double first_parity_credit;
  double sort_per_kg;            // between a piglet and the weight its sow is to rear, where litters are sorted
  int suits_light_until_parity;  // sows up to it are given light piglets first
  int scale;                     // integer units per unit: flows are solved in integers

  explicit FosteringCosts(const Coefficients& coefficients);

  std::int64_t whole(double cost) const;
  double real(std::int64_t whole_cost) const { return static_cast<double>(whole_cost) / scale; }
  // Of one more piglet in a litter of `nursing`.
  std::int64_t of_one_more(const LitterView& litter, int nursing, double mean_litter) const;
  std::int64_t of_surplus(const LitterView& litter, int nursing) const;  // the same, without equalising
  std::int64_t of_taking(const LitterView& litter) const;
};

double mean_litter(const FosteringView& view);

// The factor for costs that keeps the sum of the indices in the view of all piglets and sows moved below 1 unit of
// cost.
std::int64_t tie_scale(const FosteringView& view);

}  // namespace farrowtide
