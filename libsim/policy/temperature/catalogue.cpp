#include "libsim/policy/temperature/constant.hpp"
#include "libsim/policy/temperature/schedule.hpp"
#include "libsim/policy/temperature/temperature.hpp"

namespace farrowtide {

std::span<const CatalogueEntry<TemperaturePolicy>> temperature_catalogue() {
  static const CatalogueEntry<TemperaturePolicy> entries[] = {
      {"schedule", "A farrowing set point that falls evenly to a later one.", TemperatureSchedule::read},
      {"constant", "One set point for the whole stay.", ConstantTemperature::read},
  };
  return entries;
}

}  // namespace farrowtide
