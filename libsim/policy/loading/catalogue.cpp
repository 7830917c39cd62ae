#include "libsim/policy/loading/loading_plan.hpp"

namespace farrowtide {
namespace {

template <GiltPlaces places>
std::shared_ptr<const LoadingPolicy> read(Section& section) {
  return std::make_shared<LoadingPlan>(places, section);
}

}  // namespace

std::span<const CatalogueEntry<LoadingPolicy>> loading_catalogue() {
  static const CatalogueEntry<LoadingPolicy> entries[] = {
      {"gilts_together", "First-parity sows stand side by side.", read<GiltPlaces::side_by_side>},
      {"gilts_spread", "First-parity sows are spread over the room, which adds walking to work with them.",
       read<GiltPlaces::spread>},
  };
  return entries;
}

}  // namespace farrowtide
