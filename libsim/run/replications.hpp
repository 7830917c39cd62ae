// Runs replications of a scenario on threads; any number of threads gives the same bytes.
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

// Increased with every change that alters the numbers for a given seed.
constexpr int results_version = 9;

// How a replicate's random numbers are assigned: by address, or in the order of the draws, which shifts with every draw
// that a policy adds. The second exists to show what the first is worth.
enum class DrawOrder { keyed, one_stream };

struct RunOptions {
  int replications = 1;
  int first_replicate = 0;  // replicate numbers start here; blocks of a study join seamlessly
  std::uint64_t seed = 1;
  int threads = 1;  // 0: one for each hardware thread
  DrawOrder draws = DrawOrder::keyed;
  Recording recording;
  // Called on the calling thread about every 0.1 s with the number of replicates done; false stops the run.
  std::function<bool(int done)> progress;
  // Called on each of the run's own threads before it simulates.
  std::function<void()> thread_begins;
};

// A room that broke off on a fault of the engine; it has no rows.
struct RoomSetAside {
  int replicate;
  std::string fault;
};

struct RunResult {
  RoomTables tables;                    // replicates in order
  int replications = 0;                 // fewer than requested if the run was stopped: the first ones, all complete
  std::vector<RoomSetAside> set_aside;  // counted among the replications
  std::uint64_t events = 0;             // fired by the kernel
  std::uint64_t checks = 0;             // of conservation laws, all passed
};

// A fault of the engine in one room sets that room aside; an error of the user ends the run.
RunResult run_replications(const Scenario& scenario, const RunOptions& options);

}  // namespace farrowtide
