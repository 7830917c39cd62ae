// Ends a fuzz target where something does not hold.
#pragma once

#include <cstdio>
#include <cstdlib>
#include <string>

namespace farrowtide {

inline void stop_at(const std::string& breach) {
  if (breach.empty()) return;
  std::fprintf(stderr, "%s\n", breach.c_str());
  std::abort();
}

}  // namespace farrowtide
