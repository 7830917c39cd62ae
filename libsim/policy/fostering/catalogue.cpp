#include "libsim/policy/fostering/by_size.hpp"
#include "libsim/policy/fostering/fill_and_equalise.hpp"
#include "libsim/policy/fostering/fill_teats.hpp"
#include "libsim/policy/fostering/fostering.hpp"
#include "libsim/policy/fostering/none.hpp"

namespace farrowtide {

std::span<const CatalogueEntry<FosteringPolicy>> fostering_catalogue() {
  static const CatalogueEntry<FosteringPolicy> entries[] = {
      {"none", "No piglets are moved between sows.", NoFostering::read},
      {"fill_teats", "Surplus piglets are moved to sows with free teats.", FillTeats::read},
      {"fill_and_equalise", "Free teats are filled and litter sizes evened out.", FillAndEqualise::read},
      {"by_size", "Piglets of similar size are grouped, which takes the most moves.", SortBySize::read},
  };
  return entries;
}

}  // namespace farrowtide
