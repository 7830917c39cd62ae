#include "libsim/model/settings/imposed.hpp"

#include <algorithm>

namespace farrowtide {
namespace {

double on_day(const std::vector<double>& kg_by_day, int lactation_day) {
  return kg_by_day[std::min(static_cast<std::size_t>(lactation_day), kg_by_day.size()) - 1];
}

std::vector<double> read_by_day(Section& section, const char* name, double most_kg_per_day, const char* help) {
  return section
      .optional_numbers({.name = name,
                         .unit = "kg/d",
                         .low = 0,
                         .high = most_kg_per_day,
                         .min_items = 1,
                         .max_items = 60,
                         .help = help})
      .value_or(std::vector<double>{});
}

}  // namespace

ImposedSettings ImposedSettings::read(Section& section) {
  return {.eaten_kg_by_day = read_by_day(
              section, "eaten", 12,
              "Feed eaten by every sow on lactation day 1, 2 and so on, whatever she is given and whatever her "
              "appetite; the last value applies from then on. Nothing is eaten after farrowing on day 0."),
          .litter_gain_kg_by_day = read_by_day(
              section, "litter_gain", 8,
              "Gain of every litter on lactation day 1, 2 and so on, with the milk that it takes; the last value "
              "applies from then on. Piglets gain no more than their size allows on milk ad libitum, and no more "
              "than the sow's feed and reserves can give.")};
}

std::optional<double> ImposedSettings::eaten_kg(int lactation_day) const {
  if (!eaten()) return {};
  return lactation_day < 1 ? 0 : on_day(eaten_kg_by_day, lactation_day);
}

std::optional<double> ImposedSettings::litter_gain_kg(int lactation_day) const {
  if (litter_gain_kg_by_day.empty() || lactation_day < 1) return {};
  return on_day(litter_gain_kg_by_day, lactation_day);
}

}  // namespace farrowtide
