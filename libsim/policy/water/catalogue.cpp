#include "libsim/policy/water/every_drinker.hpp"
#include "libsim/policy/water/in_turn.hpp"
#include "libsim/policy/water/on_suspicion.hpp"
#include "libsim/policy/water/water.hpp"

namespace farrowtide {

std::span<const CatalogueEntry<WaterPolicy>> water_catalogue() {
  static const CatalogueEntry<WaterPolicy> entries[] = {
      {"every_drinker", "All drinkers are checked on the same morning.", EveryDrinker::read},
      {"in_turn", "A share of the drinkers is checked every morning.", DrinkersInTurn::read},
      {"on_suspicion",
       "All drinkers are checked once, then only those of sows that do not eat or drink. Faults are found late: local "
       "law may require a daily check.",
       DrinkersOnSuspicion::read},
  };
  return entries;
}

}  // namespace farrowtide
