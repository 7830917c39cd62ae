#include "libsim/policy/temperature/constant.hpp"
#include "libsim/policy/temperature/night_setback.hpp"
#include "libsim/policy/temperature/schedule.hpp"
#include "libsim/policy/temperature/temperature.hpp"
#include "libsim/policy/temperature/weather_led.hpp"

namespace farrowtide {

std::span<const CatalogueEntry<TemperaturePolicy>> temperature_catalogue() {
  static const CatalogueEntry<TemperaturePolicy> entries[] = {
      {"schedule", "A farrowing set point that falls linearly to a later one.", TemperatureSchedule::read},
      {"night_setback", "The schedule, with a lower set point at night once the litters are old enough.",
       NightSetback::read},
      {"weather_led", "The schedule, falling sooner and further in warm weather.", WeatherLed::read},
      {"constant", "One set point for the whole stay.", ConstantTemperature::read},
  };
  return entries;
}

}  // namespace farrowtide
