#include "libsim/model/settings/climate.hpp"

#include <algorithm>

namespace farrowtide {

ClimateSettings ClimateSettings::read(Section& section) {
  ClimateSettings climate;
  const std::vector<std::string> presets = section.coefficients().axis_labels("climate.presets.mean");
  climate.kind =
      section.choice<ClimateKind>({.name = "kind",
                                   .default_value = "balance",
                                   .help = "balance: the room's own heat balance against the outdoor air; imposed: a "
                                           "chamber that holds what it is told."});
  climate.outdoor_preset = section.choice({.name = "outdoor",
                                           .options = presets,
                                           .default_value = presets.front(),
                                           .help = "Balance: a preset of the outdoor climate."});
  climate.hourly_deg_c =
      section
          .optional_numbers(
              {.name = "outdoor_hours",
               .unit = "degC",
               .low = -50,
               .high = 55,
               .min_items = 24,
               .help = "Balance: hourly outdoor temperatures from 00:00 of the start date, in place of the preset."})
          .value_or(std::vector<double>{});
  climate.hourly_humidity_percent =
      section
          .optional_numbers({.name = "outdoor_humidity_hours",
                             .unit = "%",
                             .low = 1,
                             .high = 100,
                             .min_items = 24,
                             .help = "Balance: hourly outdoor relative humidity that goes with outdoor_hours."})
          .value_or(std::vector<double>{});
  if (climate.hourly_deg_c.size() != climate.hourly_humidity_percent.size()) {
    section.refuse("outdoor_humidity_hours", "has another length than outdoor_hours", "one value for each hour");
  }
  const double temperature_deg_c = section.number({.name = "temperature",
                                                   .unit = "degC",
                                                   .low = 5,
                                                   .high = 40,
                                                   .default_value = 20,
                                                   .help = "Imposed: room temperature."});
  const double humidity = section.number({.name = "humidity",
                                          .unit = "%",
                                          .low = 20,
                                          .high = 100,
                                          .default_value = 60,
                                          .help = "Imposed: relative humidity."});
  climate.imposed = OutdoorDay::constant(temperature_deg_c, humidity);
  const auto hours =
      section.optional_numbers({.name = "temperature_hours",
                                .unit = "degC",
                                .low = 5,
                                .high = 40,
                                .min_items = 24,
                                .max_items = 24,
                                .help = "Imposed: room temperature of each hour of the day, in place of one value."});
  if (hours) std::ranges::copy(*hours, climate.imposed.temperature_deg_c.begin());
  return climate;
}

}  // namespace farrowtide
