#include "libsim/policy/fostering/costs.hpp"

#include <algorithm>
#include <cmath>

namespace farrowtide {
namespace {

double squared(double x) { return x * x; }

}  // namespace

FosteringCosts::FosteringCosts(const Coefficients& c)
    : surplus(c.number("litter.fostering.litter_size_cost", "-")),
      equalise(c.number("litter.fostering.equalise_weight", "-")),
      move(c.number("litter.fostering.move_cost", "-")),
      per_kg(c.number("litter.fostering.weight_difference_cost", "1/kg")),
      late(c.number("litter.fostering.late_recipient_cost", "-")),
      late_after_h(c.number("litter.fostering.late_recipient_after", "h")),
      first_parity_credit(c.number("litter.fostering.first_parity_credit", "-")),
      sort_per_kg(c.number("litter.fostering_practice.sort_cost", "1/kg")),
      suits_light_until_parity(
          static_cast<int>(std::lround(c.number("litter.fostering_practice.suits_light_until_parity", "-")))),
      scale(static_cast<int>(std::lround(c.number("litter.fostering.integer_scale", "-")))) {}

std::int64_t FosteringCosts::whole(double cost) const { return std::llround(scale * cost); }

std::int64_t FosteringCosts::of_one_more(const LitterView& litter, int nursing, double mean) const {
  return of_surplus(litter, nursing) + whole(equalise * (squared(nursing + 1 - mean) - squared(nursing - mean)));
}

std::int64_t FosteringCosts::of_surplus(const LitterView& litter, int nursing) const {
  const auto above = [&](int size) { return std::max(0, size - litter.teats); };
  return whole(surplus * (squared(above(nursing + 1)) - squared(above(nursing))));
}

std::int64_t FosteringCosts::of_taking(const LitterView& litter) const {
  return whole((litter.since_farrowing_h > late_after_h ? late : 0) - (litter.parity == 1 ? first_parity_credit : 0));
}

double mean_litter(const FosteringView& view) {
  double piglets = 0;
  for (const LitterView& litter : view.litters) piglets += litter.nursing;
  return view.litters.empty() ? 0 : piglets / static_cast<double>(view.litters.size());
}

std::int64_t tie_scale(const FosteringView& view) {
  const auto piglets = static_cast<std::int64_t>(view.piglets.size());
  return 1 + piglets * (piglets + static_cast<std::int64_t>(view.litters.size()));
}

}  // namespace farrowtide
