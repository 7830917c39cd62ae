// Simulates a few rooms of a scenario and keeps all tables: one_room SCENARIO ROOMS. For a profiler (stages.py).
#include <charconv>
#include <cstdio>
#include <cstring>
#include <exception>

#include "libsim/run/replications.hpp"
#include "libsim/run/scenario.hpp"

namespace {

int number(const char* text) {
  int value = 0;
  std::from_chars(text, text + std::strlen(text), value);
  return value;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 3) {
    std::fputs("usage: one_room SCENARIO ROOMS\n", stderr);
    return 2;
  }
  try {
    farrowtide::RunOptions options;
    options.replications = number(argv[2]);
    const farrowtide::RunResult result = farrowtide::run_replications(farrowtide::Scenario::load(argv[1]), options);
    std::printf("%d rooms, %llu events\n", result.replications, static_cast<unsigned long long>(result.events));
  } catch (const std::exception& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 1;
  }
}
