// An entry of the list `moves`: piglets moved as the scenario prescribes.
#pragma once

#include "libsim/kernel/time.hpp"
#include "libsim/scenario/section.hpp"

namespace farrowtide {

// Piglets moved from one sow to another at a given time, as in a trial.
struct PrescribedMove {
  enum class Which { lightest, middle, heaviest };
  friend constexpr auto names(Which) {
    return std::to_array<Name<Which>>(
        {{Which::lightest, "lightest"}, {Which::middle, "middle"}, {Which::heaviest, "heaviest"}});
  }
  int day = 0;  // of the group; 0 is the day of loading
  Duration time;
  int from = 0, to = 0, piglets = 0;
  Which which = Which::middle;

  static PrescribedMove read(Section& section);
};

}  // namespace farrowtide
