// What a plan of moves costs, in units of its own that only weigh one thing against another.
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
  int scale;                     // whole units per unit: flows are solved in whole numbers

  explicit FosteringCosts(const Coefficients& coefficients);

  std::int64_t whole(double cost) const;
  double real(std::int64_t whole_cost) const { return static_cast<double>(whole_cost) / scale; }
  // Of one piglet more in a litter of so many.
  std::int64_t of_one_more(const LitterView& litter, int nursing, double mean_litter) const;
  std::int64_t of_surplus(const LitterView& litter, int nursing) const;  // the same, without equalising
  std::int64_t of_taking(const LitterView& litter) const;
};

double mean_litter(const FosteringView& view);

// By how much to multiply costs, so that the places in the view of all piglets and sows moved, added up, stay below 1.
std::int64_t tie_scale(const FosteringView& view);

}  // namespace farrowtide
