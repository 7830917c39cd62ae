#include "libsim/policy/loading/gilts_spread.hpp"
#include "libsim/policy/loading/gilts_together.hpp"
#include "libsim/policy/loading/loading.hpp"

namespace farrowtide {

std::span<const CatalogueEntry<LoadingPolicy>> loading_catalogue() {
  static const CatalogueEntry<LoadingPolicy> entries[] = {
      {"gilts_together", "First-parity sows stand side by side.", GiltsTogether::read},
      {"gilts_spread", "First-parity sows stand spread over the room, which adds walking to work with them.",
       GiltsSpread::read},
  };
  return entries;
}

}  // namespace farrowtide
