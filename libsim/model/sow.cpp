#include "libsim/model/sow.hpp"

#include <algorithm>

namespace farrowtide {

Sow::Sow(int number_on_the_farm, const SowTraits& brought, const TroughRules& trough_rules,
         const AppetiteClock& first_clock, double protein_kg)
    : number(number_on_the_farm), traits(brought), feeding(trough_rules, first_clock, brought.appetite_noise) {
  water.drinker.flow_l_per_min = traits.drinker_flow_l_per_min;
  water.uses_drinker.known = traits.knows_drinker;
  water.uses_feeder.known = traits.knows_feeder;
  body.weight_kg = traits.weight_kg;
  body.backfat_mm = traits.backfat_mm;
  body.protein_kg = body.protein_at_loading_kg = body.protein_at_farrowing_kg = protein_kg;
  body.weight_at_loading_kg = body.weight_kg;
}

int Litter::scouring() const {
  return static_cast<int>(std::ranges::count_if(sucklings, [](const Piglet* piglet) { return piglet->scouring; }));
}

double Litter::weight_kg() const {
  double sum_kg = 0;
  for (const Piglet* piglet : sucklings) sum_kg += piglet->weight_kg;
  return sum_kg;
}

void TroughMornings::count(TroughState state) {
  read += state != TroughState::unknown;
  empty += state == TroughState::empty;
  untouched += state == TroughState::untouched;
}

double FeedingState::share_by(Time midnight, Time moment) const {
  const Duration since = std::clamp(moment - midnight, 0_s, 1_d);
  return clock_of_day.share_by(since.seconds());
}

}  // namespace farrowtide
