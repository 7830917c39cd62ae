// The section `staff`: the work shifts.
#pragma once

#include <vector>

#include "libsim/model/staff/roster.hpp"
#include "libsim/scenario/section.hpp"

namespace farrowtide {

struct StaffSettings {
  std::vector<Shift> shifts;
  double compliance = 1;  // share of visits that are really made as written

  static StaffSettings read(Section& section);
};

}  // namespace farrowtide
