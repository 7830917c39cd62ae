// Runs a scenario many times, on threads, with the same bytes whatever their number.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "libsim/model/room_records.hpp"
#include "libsim/model/room_tables.hpp"
#include "libsim/run/scenario.hpp"

namespace farrowtide {

// Raised with every change that gives other numbers for the same seed.
constexpr int results_version = 4;

// How a replicate's random numbers are dealt out: by address, or in the order in which they are asked for, which moves
// with every draw that a policy adds. The second is there to show what the first is worth.
enum class DrawOrder { keyed, one_stream };

struct RunOptions {
  int replications = 1;
  int first_replicate = 0;  // replicate numbers start here; blocks of one study join without a seam
  std::uint64_t seed = 1;
  int threads = 1;  // 0: as many as the machine has
  DrawOrder draws = DrawOrder::keyed;
  Recording recording;
  // Called on the calling thread about every 0.1 s with the number of replicates done; false stops the run.
  std::function<bool(int done)> progress;
};

struct RunResult {
  RoomTables tables;         // replicates in order
  int replications = 0;      // fewer than asked when it was stopped: the first of them, all complete
  std::uint64_t events = 0;  // fired by the kernel
  std::uint64_t checks = 0;  // of conservation laws, all passed
};

RunResult run_replications(const Scenario& scenario, const RunOptions& options);

}  // namespace farrowtide
