// The section `induction`: induction of farrowing.
#pragma once

#include <optional>

#include "libsim/model/litter/gestation.hpp"
#include "libsim/scenario/section.hpp"

namespace farrowtide {

// Induction of farrowing on veterinary prescription; off by default.
struct InductionSettings {
  std::optional<InductionSchedule> schedule;
  double gestation_day = 0;
  Duration time_of_day;  // of the injection

  static InductionSettings read(Section& section);
};

}  // namespace farrowtide
