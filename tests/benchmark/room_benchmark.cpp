// A room of 24 sows on one thread, by feeding policy; argument: a scenario file. Milliseconds and events a room, and
// how many times as long it takes as the kernel alone for as many events among as many processes. The fastest of three
// repeats, everything in one run.
#include <algorithm>
#include <chrono>
#include <cstdio>

#include "libsim/kernel/simulation.hpp"
#include "libsim/run/replications.hpp"

namespace {

using namespace farrowtide;

template <class Work>
double fastest_ms(Work work) {
  double best_ms = 1e300;
  for (int repeat = 0; repeat < 3; ++repeat) {
    const auto start = std::chrono::steady_clock::now();
    work();
    const std::chrono::duration<double, std::milli> took = std::chrono::steady_clock::now() - start;
    best_ms = std::min(best_ms, took.count());
  }
  return best_ms;
}

Process<> tick(Simulation& simulation, Duration every, std::uint64_t times) {
  for (std::uint64_t i = 0; i < times; ++i) co_await simulation.delay(every);
}

// As many processes as a full room has, each at a pace of its own.
void run_kernel_alone(std::uint64_t events) {
  constexpr int processes = 9 * 24;
  Simulation simulation;
  for (int i = 0; i < processes; ++i) {
    simulation.spawn(tick(simulation, Duration{1000 + 37 * i}, events / processes).named("tick", i));
  }
  simulation.run();
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) return 2;
  const Scenario scenario = Scenario::load(argv[1]);
  constexpr int rooms = 50;
  for (const Variation& variation : scenario.alternatives()) {
    const Scenario one = scenario.with_overrides(variation.overrides);
    RunOptions options;
    options.replications = rooms;
    std::uint64_t events = 0;
    const double room_ms = fastest_ms([&] { events = run_replications(one, options).events; }) / rooms;
    const double kernel_ms = fastest_ms([&] { run_kernel_alone(events); }) / rooms;
    std::printf("%-16s %6.2f ms a room, %6llu events a room, %5.1f times the kernel alone\n", variation.name.c_str(),
                room_ms, static_cast<unsigned long long>(events / rooms), room_ms / kernel_ms);
  }
}
