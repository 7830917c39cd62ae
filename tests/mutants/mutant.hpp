// Goes with a copy of the engine into which mutants are built. Not part of the engine.
#pragma once

#include <cstdlib>

namespace farrowtide_mutants {

inline constexpr int most = 8192;
inline unsigned char reached[most] = {};
inline int active = -1;  // not yet asked

inline bool is(int number) noexcept {
  if (active < 0) {
    const char* given = std::getenv("FARROWTIDE_MUTANT");
    active = given != nullptr ? std::atoi(given) : 0;
  }
  reached[number] = 1;
  return active == number;
}

}  // namespace farrowtide_mutants

extern "C" {
// Fills in the mutants whose places were reached since the last call, and returns how many.
__attribute__((used, visibility("default"))) inline int farrowtide_take_reached(int* numbers) {
  int count = 0;
  for (int i = 0; i < farrowtide_mutants::most; ++i) {
    if (farrowtide_mutants::reached[i] != 0) numbers[count++] = i;
    farrowtide_mutants::reached[i] = 0;
  }
  return count;
}
}
