#pragma once

#include <string>
#include <vector>

#include "libsim/kernel/simulation.hpp"

namespace farrowtide::testing {

/// A simulation and what happened in it, as "what@second".
struct Diary {
  std::vector<std::string> lines;
  Simulation clock;

  Simulation& simulation() { return clock; }
  void note(const std::string& what) {
    lines.push_back(what + "@" + std::to_string(clock.now().since_start().seconds()));
  }
};

using Lines = std::vector<std::string>;

inline Time at(std::int64_t second) { return Time{Duration{second}}; }

}  // namespace farrowtide::testing
