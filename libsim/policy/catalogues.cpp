#include "libsim/policy/catalogues.hpp"

namespace farrowtide {
namespace {

template <class Policy>
std::vector<CatalogueEntry<Policy>> all(std::span<const CatalogueEntry<Policy>> entries) {
  return {entries.begin(), entries.end()};
}

}  // namespace

PolicyCatalogues PolicyCatalogues::built_in() {
  return {.loading = all(loading_catalogue()),
          .feeding = all(feeding_catalogue()),
          .water = all(water_catalogue()),
          .temperature = all(temperature_catalogue()),
          .attendance = all(attendance_catalogue()),
          .care = all(care_catalogue()),
          .fostering = all(fostering_catalogue()),
          .handling = all(handling_catalogue())};
}

}  // namespace farrowtide
