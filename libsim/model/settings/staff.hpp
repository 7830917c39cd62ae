// The section `staff`: the work shifts.
#pragma once

#include <vector>

#include "libsim/model/staff/roster.hpp"
#include "libsim/scenario/section.hpp"

namespace farrowtide {

struct StaffSettings {
  std::vector<Shift> shifts;

  static StaffSettings read(Section& section);
};

}  // namespace farrowtide
