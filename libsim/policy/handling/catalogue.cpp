#include "libsim/policy/handling/processing_days.hpp"

namespace farrowtide {

std::span<const CatalogueEntry<HandlingPolicy>> handling_catalogue() {
  static const CatalogueEntry<HandlingPolicy> entries[] = {
      {"bundled", "All of a litter's processing on one day.", ProcessingDays::read_one},
      {"split", "A litter's processing in equal parts, on several days.", ProcessingDays::read_several},
  };
  return entries;
}

}  // namespace farrowtide
