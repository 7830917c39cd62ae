#include "libsim/model/sow.hpp"

#include <algorithm>

namespace farrowtide {

Sow::Sow(int number_on_the_farm, const SowTraits& brought, const TroughRules& trough_rules,
         const AppetiteClock& first_clock, double protein_kg)
    : number(number_on_the_farm), traits(brought), feeding(trough_rules, first_clock, brought.appetite_noise) {
  water.drinker.flow_l_per_min = traits.drinker_flow_l_per_min;
  water.knows_the_place = traits.knows_the_place;
  body.weight_kg = traits.weight_kg;
  body.backfat_mm = traits.backfat_mm;
  body.protein_kg = protein_kg;
}

int Litter::scouring() const {
  return static_cast<int>(std::ranges::count_if(sucklings, [](const Piglet* piglet) { return piglet->scouring; }));
}

double Litter::weight_kg() const {
  double sum_kg = 0;
  for (const Piglet* piglet : sucklings) sum_kg += piglet->weight_kg;
  return sum_kg;
}

double FeedingState::pool_now_kg(Time now) const {
  const auto at = pool_at < now.start_of_day() ? 0 : pool_at.second_of_day();
  return pool_kg + appetite_kg * (clock_of_day.share_by(now.second_of_day()) - clock_of_day.share_by(at));
}

}  // namespace farrowtide
