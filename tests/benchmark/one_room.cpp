// Simulates a few rooms of a scenario and keeps all tables: one_room SCENARIO ROOMS. For a profiler (stages.py).
#include <charconv>
#include <cstdio>
#include <cstring>
#include <exception>
#include <system_error>

#include "libsim/run/replications.hpp"
#include "libsim/run/scenario.hpp"

namespace {

// A whole number of 1 or more; 0 if the text is none.
int rooms_asked_for(const char* text) {
  const char* const end = text + std::strlen(text);
  int rooms = 0;
  const auto [read_to, error] = std::from_chars(text, end, rooms);
  return error == std::errc{} && read_to == end && rooms > 0 ? rooms : 0;
}

}  // namespace

int main(int argc, char** argv) {
  const int rooms = argc == 3 ? rooms_asked_for(argv[2]) : 0;
  if (rooms == 0) {
    std::fputs("usage: one_room SCENARIO ROOMS (1 or more)\n", stderr);
    return 2;
  }
  try {
    farrowtide::RunOptions options;
    options.replications = rooms;
    const farrowtide::RunResult result = farrowtide::run_replications(farrowtide::Scenario::load(argv[1]), options);
    std::printf("%d rooms, %llu events\n", result.replications, static_cast<unsigned long long>(result.events));
  } catch (const std::exception& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 1;
  }
}
