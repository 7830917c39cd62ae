#include "libsim/model/settings/imposed.hpp"

#include <algorithm>

namespace farrowtide {
namespace {

double on_day(const std::vector<double>& kg_by_day, int lactation_day) {
  return kg_by_day[std::min(static_cast<std::size_t>(lactation_day), kg_by_day.size()) - 1];
}

}  // namespace

ImposedSettings ImposedSettings::read(Section& section) {
  ImposedSettings imposed;
  imposed.eaten_kg_by_day =
      section
          .optional_numbers({.name = "eaten",
                             .unit = "kg/d",
                             .low = 0,
                             .high = 12,
                             .min_items = 1,
                             .max_items = 60,
                             .help =
                                 "Feed eaten by every sow on lactation day 1, 2 and so on, whatever she is given and "
                                 "whatever her appetite; the last value applies from then on. Nothing is eaten "
                                 "after farrowing on day 0."})
          .value_or(std::vector<double>{});
  imposed.litter_gain_kg_by_day =
      section
          .optional_numbers({.name = "litter_gain",
                             .unit = "kg/d",
                             .low = 0,
                             .high = 8,
                             .min_items = 1,
                             .max_items = 60,
                             .help =
                                 "Gain of every litter on lactation day 1, 2 and so on, with the milk that it takes; "
                                 "the last value applies from then on."})
          .value_or(std::vector<double>{});
  return imposed;
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
