#include "libsim/run/replications.hpp"

#include <algorithm>
#include <atomic>
#include <chrono>
#include <condition_variable>
#include <exception>
#include <mutex>
#include <optional>
#include <thread>

#include "libsim/kernel/errors.hpp"
#include "libsim/model/farm.hpp"

namespace farrowtide {
namespace {

struct Stopped {};  // thrown to abandon a room that is no longer needed

// The result of one replicate.
struct Replicate {
  std::optional<RoomTables> tables;  // while it runs and until it is joined
  std::string fault;                 // of the engine; empty: none
  std::uint64_t events = 0;
  std::uint64_t checks = 0;
  bool done = false;
};

// Replicates are assigned and joined in order; threads share only the next number.
class Crew {
 public:
  Crew(const Scenario& scenario, const RunOptions& options)
      : scenario_(scenario),
        options_(options),
        threads_(
            std::clamp(options.threads > 0 ? options.threads : static_cast<int>(std::thread::hardware_concurrency()), 1,
                       options.replications)),
        biology_{scenario.coefficients()},
        replicates_(static_cast<std::size_t>(options.replications)) {}

  RunResult run() {
    std::vector<std::jthread> crew;
    for (int i = 0; i < threads_; ++i) crew.emplace_back([this] { work(); });
    watch();
    crew.clear();
    if (error_) std::rethrow_exception(error_);
    return joined();
  }

 private:
  void work() {
    try {
      if (options_.thread_begins) options_.thread_begins();
      for (int next = next_++; next < options_.replications && !stop_; next = next_++) simulate(next);
    } catch (const Stopped&) {
    } catch (const StoppedByUser&) {
      stop_ = true;
    } catch (...) {
      const std::lock_guard lock(mutex_);
      if (!error_) error_ = std::current_exception();
      stop_ = true;
    }
    const std::lock_guard lock(mutex_);
    ++idle_;
    changed_.notify_one();
  }

  void simulate(int index) {
    Replicate& replicate = replicates_[static_cast<std::size_t>(index)];
    OneStream one_stream;
    const Draws draws{.seed = options_.seed,
                      .replicate = static_cast<std::uint32_t>(options_.first_replicate + index),
                      .one_stream = options_.draws == DrawOrder::one_stream ? &one_stream : nullptr};
    try {
      Farm farm(scenario_.farm(), biology_, draws, options_.recording, replicate.tables.emplace());
      farm.run([this] {
        if (stop_) throw Stopped{};
      });
      replicate.events = farm.clock.events_fired();
      replicate.checks = farm.checks();
    } catch (const InternalError& error) {
      replicate.fault = error.what();
    }
    if (!replicate.fault.empty()) replicate.tables.emplace();
    replicate.done = true;
    ++done_;
  }

  // The calling thread reports progress and learns whether to continue.
  void watch() {
    using namespace std::chrono_literals;
    std::unique_lock lock(mutex_);
    while (!changed_.wait_for(lock, 100ms, [&] { return idle_ == threads_; })) {
      if (!options_.progress || stop_) continue;
      lock.unlock();
      report();
      lock.lock();
    }
    lock.unlock();
    if (options_.progress && !stop_) report();
  }

  void report() {
    try {
      if (!options_.progress(done_)) stop_ = true;
    } catch (...) {
      const std::lock_guard lock(mutex_);
      error_ = std::current_exception();
      stop_ = true;
    }
  }

  // The leading replicates that are complete, in order.
  RunResult joined() {
    RunResult result;
    const auto end = std::ranges::find_if(replicates_, [](const Replicate& replicate) { return !replicate.done; });
    const auto all = result.tables.all();
    for (std::size_t table = 0; table < all.size(); ++table) {
      std::size_t rows = 0;
      for (auto replicate = replicates_.begin(); replicate != end; ++replicate)
        rows += replicate->tables->all()[table]->rows();
      all[table]->reserve(rows);
    }
    for (auto replicate = replicates_.begin(); replicate != end; ++replicate) {
      const auto parts = replicate->tables->all();
      for (std::size_t table = 0; table < all.size(); ++table) all[table]->append(*parts[table]);
      if (!replicate->fault.empty())
        result.set_aside.push_back({options_.first_replicate + static_cast<int>(replicate - replicates_.begin()),
                                    std::move(replicate->fault)});
      result.events += replicate->events;
      result.checks += replicate->checks;
      replicate->tables.reset();
    }
    result.replications = static_cast<int>(end - replicates_.begin());
    return result;
  }

  const Scenario& scenario_;
  const RunOptions& options_;
  const int threads_;
  const Biology biology_;
  std::vector<Replicate> replicates_;
  std::atomic<int> next_ = 0, done_ = 0;
  std::atomic<bool> stop_ = false;
  std::mutex mutex_;
  std::condition_variable changed_;
  int idle_ = 0;
  std::exception_ptr error_;
};

}  // namespace

RunResult run_replications(const Scenario& scenario, const RunOptions& options) {
  if (options.replications < 1) throw UserError("a run needs at least one replication");
  return Crew(scenario, options).run();
}

}  // namespace farrowtide
