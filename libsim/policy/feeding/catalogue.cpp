#include "libsim/policy/feeding/drops.hpp"
#include "libsim/policy/feeding/feeding.hpp"
#include "libsim/policy/feeding/full_access.hpp"
#include "libsim/policy/feeding/hand.hpp"

namespace farrowtide {

std::span<const CatalogueEntry<FeedingPolicy>> feeding_catalogue() {
  static const CatalogueEntry<FeedingPolicy> entries[] = {
      {"hand", "Fed by hand at clock times.", HandFeeding::read},
      {"drops", "Dropped by a machine at clock times, without staff.", MachineDrops::read},
      {"full_access", "Feed always available from a given day.", FullAccess::read},
  };
  return entries;
}

}  // namespace farrowtide
