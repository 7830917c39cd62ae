// The section `induction`: farrowing induced on the prescription of the veterinarian.
#pragma once

#include <optional>

#include "libsim/model/litter/gestation.hpp"
#include "libsim/scenario/section.hpp"

namespace farrowtide {

// Induction with the veterinarian's prescription; off unless a scenario asks.
struct InductionSettings {
  std::optional<InductionSchedule> schedule;
  double gestation_day = 0;

  static InductionSettings read(Section& section);
};

}  // namespace farrowtide
