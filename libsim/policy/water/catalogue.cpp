#include "libsim/policy/water/every_drinker.hpp"
#include "libsim/policy/water/in_turn.hpp"
#include "libsim/policy/water/on_suspicion.hpp"
#include "libsim/policy/water/water.hpp"

namespace farrowtide {

std::span<const CatalogueEntry<WaterPolicy>> water_catalogue() {
  static const CatalogueEntry<WaterPolicy> entries[] = {
      {"every_drinker", "Every drinker is looked at on the same morning.", EveryDrinker::read},
      {"in_turn", "A share of the drinkers every morning.", DrinkersInTurn::read},
      {"on_suspicion",
       "All drinkers once, then only those of sows that do not eat or drink. A fault is found late: local law may ask "
       "for a daily look.",
       DrinkersOnSuspicion::read},
  };
  return entries;
}

}  // namespace farrowtide
