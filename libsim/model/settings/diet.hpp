// The section `diet`: the diet fed in the farrowing room.
#pragma once

#include "libsim/model/sow/diet.hpp"
#include "libsim/model/sow/herd.hpp"
#include "libsim/scenario/section.hpp"

namespace farrowtide {

struct DietSettings : Diet {
  FibreInDiet fibre = FibreInDiet::usual;  // around farrowing

  static DietSettings read(Section& section);
};

}  // namespace farrowtide
