// The section `imposed`: what a trial measured, imposed on every sow, so that what follows from it can be tested.
#pragma once

#include <optional>
#include <vector>

#include "libsim/scenario/section.hpp"

namespace farrowtide {

struct ImposedSettings {
  // By lactation day, from day 1; the last value applies from then on. Empty: not imposed.
  std::vector<double> eaten_kg_by_day, litter_gain_kg_by_day;

  static ImposedSettings read(Section& section);

  bool eaten() const { return !eaten_kg_by_day.empty(); }
  // Nothing on the day of farrowing.
  std::optional<double> eaten_kg(int lactation_day) const;
  // Empty on the day of farrowing, on which the litter gains as usual.
  std::optional<double> litter_gain_kg(int lactation_day) const;
};

}  // namespace farrowtide
