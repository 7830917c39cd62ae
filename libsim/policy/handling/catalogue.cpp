#include "libsim/policy/handling/bundled.hpp"
#include "libsim/policy/handling/handling.hpp"
#include "libsim/policy/handling/split.hpp"

namespace farrowtide {

std::span<const CatalogueEntry<HandlingPolicy>> handling_catalogue() {
  static const CatalogueEntry<HandlingPolicy> entries[] = {
      {"bundled", "All of a litter's processing on one day.", BundledHandling::read},
      {"split", "A litter's processing in equal parts, on several days.", SplitHandling::read},
  };
  return entries;
}

}  // namespace farrowtide
