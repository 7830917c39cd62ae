// An entry of the list `moves`: piglets that the scenario moves itself.
#pragma once

#include "libsim/kernel/time.hpp"
#include "libsim/scenario/section.hpp"

namespace farrowtide {

// Piglets moved from one sow to another at a given time, as a trial would do it.
struct PrescribedMove {
  enum class Which { lightest, middle, heaviest };
  friend constexpr auto names(Which) {
    return std::to_array<Name<Which>>(
        {{Which::lightest, "lightest"}, {Which::middle, "middle"}, {Which::heaviest, "heaviest"}});
  }
  int day = 0;  // of the scenario
  Duration time;
  int from = 0, to = 0, piglets = 0;
  Which which = Which::middle;

  static PrescribedMove read(Section& section);
};

}  // namespace farrowtide
