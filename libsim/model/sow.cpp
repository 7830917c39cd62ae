#include "libsim/model/sow.hpp"

#include <algorithm>

namespace farrowtide {

int Litter::scouring() const {
  return static_cast<int>(std::ranges::count_if(sucklings, [](const Piglet* piglet) { return piglet->scouring; }));
}

double Litter::weight_kg() const {
  double sum_kg = 0;
  for (const Piglet* piglet : sucklings) sum_kg += piglet->weight_kg;
  return sum_kg;
}

double Sow::pool_now_kg(Time now) const {
  const auto at = pool_at < now.start_of_day() ? 0 : pool_at.second_of_day();
  return pool_kg + appetite_kg * (clock_of_day.share_by(now.second_of_day()) - clock_of_day.share_by(at));
}

}  // namespace farrowtide
