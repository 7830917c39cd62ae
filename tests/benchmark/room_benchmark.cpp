// Milliseconds a room of 24 sows on one thread, by feeding policy; argument: a scenario file. The fastest of three
// repeats.
#include <algorithm>
#include <chrono>
#include <cstdio>

#include "libsim/run/replications.hpp"

int main(int argc, char** argv) {
  using namespace farrowtide;
  if (argc != 2) return 2;
  const Scenario scenario = Scenario::load(argv[1]);
  for (const Variation& variation : scenario.alternatives()) {
    const Scenario one = scenario.with_overrides(variation.overrides);
    RunOptions options;
    options.replications = 50;
    double best_ms = 1e300;
    std::uint64_t events = 0;
    for (int repeat = 0; repeat < 3; ++repeat) {
      const auto start = std::chrono::steady_clock::now();
      events = run_replications(one, options).events;
      const std::chrono::duration<double, std::milli> took = std::chrono::steady_clock::now() - start;
      best_ms = std::min(best_ms, took.count() / options.replications);
    }
    std::printf("%-16s %6.2f ms a room, %llu events a room\n", variation.name.c_str(), best_ms,
                static_cast<unsigned long long>(events / 50));
  }
}
