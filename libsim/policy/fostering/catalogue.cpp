#include "libsim/policy/fostering/by_size.hpp"
#include "libsim/policy/fostering/fill_and_equalise.hpp"
#include "libsim/policy/fostering/fill_teats.hpp"
#include "libsim/policy/fostering/fostering.hpp"
#include "libsim/policy/fostering/none.hpp"

namespace farrowtide {

std::span<const CatalogueEntry<FosteringPolicy>> fostering_catalogue() {
  static const CatalogueEntry<FosteringPolicy> entries[] = {
      {"none", "No piglet is moved between sows.", NoFostering::read},
      {"fill_teats", "Surplus piglets go to sows with teats to spare.", FillTeats::read},
      {"fill_and_equalise", "Teats are filled, and litters brought towards the same size.", FillAndEqualise::read},
      {"by_size", "Piglets of like size are brought together, which moves the most.", SortBySize::read},
  };
  return entries;
}

}  // namespace farrowtide
