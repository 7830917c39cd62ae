#include "libsim/policy/care/by_signs.hpp"
#include "libsim/policy/care/by_temperature.hpp"
#include "libsim/policy/care/care.hpp"
#include "libsim/policy/care/watch_only.hpp"

namespace farrowtide {

std::span<const CatalogueEntry<CarePolicy>> care_catalogue() {
  static const CatalogueEntry<CarePolicy> entries[] = {
      {"by_signs", "Sows are treated after a number of different signs.", TreatBySigns::read},
      {"by_temperature", "Sows are treated on the rectal temperature alone.", TreatByTemperature::read},
      {"watch_only", "Sows are checked but never treated: for comparisons only, because a sick sow needs treatment.",
       WatchOnly::read},
  };
  return entries;
}

}  // namespace farrowtide
