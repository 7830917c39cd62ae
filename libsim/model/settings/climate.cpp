#include "libsim/model/settings/climate.hpp"

#include <algorithm>

namespace farrowtide {

ClimateSettings ClimateSettings::read(Section& section) {
  ClimateSettings climate;
  const std::vector<std::string> presets = section.coefficients().axis_labels("climate.presets.mean");
  climate.kind =
      section.choice<ClimateKind>({.name = "kind",
                                   .default_value = "balance",
                                   .help = "balance: the room's heat balance with the outdoor air; imposed: a climate "
                                           "chamber at prescribed values."});
  climate.outdoor_preset = section.choice({.name = "outdoor",
                                           .options = presets,
                                           .default_value = presets.front(),
                                           .help = "Balance: preset of the outdoor climate."});
  climate.hourly_deg_c =
      section
          .optional_numbers(
              {.name = "outdoor_hours",
               .unit = "degC",
               .low = -50,
               .high = 55,
               .min_items = 24,
               .help = "Balance: hourly outdoor temperatures from 00:00 on the start date, instead of the preset.",
               .only_with = "climate.kind: balance"})
          .value_or(std::vector<double>{});
  climate.hourly_humidity_percent =
      section
          .optional_numbers({.name = "outdoor_humidity_hours",
                             .unit = "%",
                             .low = 1,
                             .high = 100,
                             .min_items = 24,
                             .help = "Balance: hourly outdoor relative humidity, for the same hours as outdoor_hours.",
                             .only_with = "climate.kind: balance"})
          .value_or(std::vector<double>{});
  if (climate.hourly_deg_c.size() != climate.hourly_humidity_percent.size()) {
    section.refuse("outdoor_humidity_hours", "differs in length from outdoor_hours", "one value for each hour");
  }
  const double temperature_deg_c = section.number({.name = "temperature",
                                                   .unit = "degC",
                                                   .low = 5,
                                                   .high = 40,
                                                   .default_value = 20,
                                                   .help = "Imposed: room temperature.",
                                                   .only_with = "climate.kind: imposed"});
  const double humidity = section.number({.name = "humidity",
                                          .unit = "%",
                                          .low = 20,
                                          .high = 100,
                                          .default_value = 60,
                                          .help = "Imposed: relative humidity.",
                                          .only_with = "climate.kind: imposed"});
  climate.imposed = OutdoorDay::constant(temperature_deg_c, humidity);
  const auto hours =
      section.optional_numbers({.name = "temperature_hours",
                                .unit = "degC",
                                .low = 5,
                                .high = 40,
                                .min_items = 24,
                                .max_items = 24,
                                .help = "Imposed: room temperature for each hour of the day, instead of a constant.",
                                .only_with = "climate.kind: imposed"});
  if (hours) std::ranges::copy(*hours, climate.imposed.temperature_deg_c.begin());
  climate.imposed_by_day_deg_c =
      section
          .optional_numbers({.name = "temperature_days",
                             .unit = "degC",
                             .low = 5,
                             .high = 40,
                             .min_items = 1,
                             .max_items = 60,
                             .help =
                                 "Imposed: room temperature day by day, instead of a constant; the last one applies "
                                 "from then on.",
                             .only_with = "climate.kind: imposed"})
          .value_or(std::vector<double>{});
  climate.imposed_from =
      section.choice<DayZero>({.name = "days_from",
                               .default_value = "loading",
                               .help = "Imposed: the day of the first of temperature_days: loading, or the mean due "
                                       "date of the group, with the constant temperature before it.",
                               .only_with = "climate.kind: imposed"});
  if (hours && !climate.imposed_by_day_deg_c.empty())
    section.refuse("temperature_days", "cannot be combined with temperature_hours", "one of the two");
  return climate;
}

OutdoorDay ClimateSettings::imposed_on(int day_of_group, int days_before_due) const {
  const int day = day_of_group + (imposed_from == DayZero::loading ? days_before_due : 0);
  if (imposed_by_day_deg_c.empty() || day < 0) return imposed;
  OutdoorDay on_the_day = imposed;
  on_the_day.temperature_deg_c.fill(
      imposed_by_day_deg_c[std::min(static_cast<std::size_t>(day), imposed_by_day_deg_c.size() - 1)]);
  return on_the_day;
}

}  // namespace farrowtide
