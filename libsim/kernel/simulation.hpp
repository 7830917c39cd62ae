#pragma once

#include <cstdint>
#include <deque>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "libsim/kernel/event_list.hpp"
#include "libsim/kernel/frame_pool.hpp"
#include "libsim/kernel/linked_list.hpp"
#include "libsim/kernel/process.hpp"
#include "libsim/kernel/time.hpp"
#include "libsim/kernel/wait.hpp"

namespace farrowtide {

class Delay;
class Join;

/// How a joined process ended.
enum class Ending {
  finished,
  stopped,       ///< by stop, or by an exception that left it
  over_already,  ///< before the join began: there was no wait
};

/// What stop did.
enum class Stop {
  stopped,
  at_next_wait,  ///< it is the running process and continues until its next co_await
  over_already,
};

/// The clock, the pending events and the processes of one simulated world.
///
/// The loop (fire_next in simulation.cpp) takes the first event in the order (time, order, sequence), advances the
/// clock and fires it, and does nothing else. Only the loop resumes a process: firing a signal, releasing a seat,
/// ending or stopping a process decides at once which processes continue, and they are resumed by an event in the same
/// second, order `release`. So no other process runs between two waits of a process.
///
/// Make it the last member of its owner: it is then destroyed first, while everything its processes refer to still
/// exists.
class Simulation {
 public:
  using Callback = std::function<void()>;

  Simulation() = default;
  ~Simulation();
  Simulation(const Simulation&) = delete;
  Simulation& operator=(const Simulation&) = delete;

  Time now() const { return now_; }

  /// Fires every event up to and including `end`; the clock is then at `end`. Throws what a process threw, with the
  /// process's name and the time; the simulation can then still be inspected and destroyed.
  void run_until(Time end);
  /// Fires events until none is pending.
  void run();

  /// Starts an independent process. Its first step is an event at `at` (default: now) in order `home`, the order in
  /// which its delays end as well.
  ProcessRef spawn(Process<> life, Order home = Order::animal, std::optional<Time> at = {});
  /// Ends a process at its current wait: locals are destroyed innermost first, seats are released, its waits are
  /// withdrawn, its sub-processes end with it, and processes that wait for its end continue. It cannot catch this.
  Stop stop(ProcessRef process) noexcept;
  bool alive(ProcessRef process) const { return find(process) != nullptr; }
  /// The process that runs at this moment; a stale ref in a callback and between events.
  ProcessRef running() const { return running_ ? running_->ref : ProcessRef{}; }

  /// co_await: a delay that ends in the process's home order or in `order`. With a delay of zero, everything already
  /// due happens first; waiting for the past throws UserError.
  Delay delay(Duration length) const;
  Delay delay(Duration length, Order order) const;
  Delay until(Time moment) const;
  Delay until(Time moment, Order order) const;
  /// co_await: the end of another process; returns its Ending.
  Join join(ProcessRef process);

  /// Calls `callback` at `at`: for work that belongs to no process, such as the hourly climate of a room.
  EventId schedule(Time at, Order order, Callback callback);
  /// Both return false for an event that has fired or been cancelled. A rescheduled event comes after its new equals.
  bool cancel(EventId event);
  bool reschedule(EventId event, Time at);
  bool pending(EventId event) const { return events_.pending(event); }

  /// Calls `watch` every `every` events; an exception it throws ends the run. For Ctrl-C and progress.
  void set_watch(std::uint64_t every, Callback watch);
  /// More events in one second than this (1,000,000 by default) count as a livelock: the run throws InternalError.
  void set_events_a_second_limit(std::uint64_t limit);

  std::uint64_t events_fired() const { return events_fired_; }
  const FramePool& frames() const { return *frames_; }

 private:
  friend class Arm;
  friend class Delay;
  friend class Join;
  friend class Serve;
  friend FramePool& frames_of(Simulation& simulation);

  struct Call {
    Simulation* simulation;
    Callback callback;
    Call* next_unused;
  };

  // The loop
  void fire_next();
  template <class Condition>
  void fire_while(Condition condition);
  void look_around();
  std::string names_of_the_restless() const;

  // Events
  bool second_is_final() const { return firing_ && order_ == Order::record; }
  EventId add_event(Time at, Order order, EventList::Action action, void* argument) {
    check_schedulable(at);
    return events_.add(at, order, action, argument);
  }
  void check_schedulable(Time at) const {
    const bool representable = at.since_start().seconds() < EventList::time_limit_s;
    if (at < now_ || !representable || (at == now_ && second_is_final())) throw_unschedulable(at);
  }
  [[noreturn]] void throw_unschedulable(Time at) const;
  static void fire_call(void* call);
  void discard(Call& call);

  // Processes
  static void fire_wake_up(void* process);
  void wake(ProcessRecord& process) noexcept;
  void resume(ProcessRecord& process);
  [[noreturn]] void fail(ProcessRecord& process);
  void retire(ProcessRecord& process, Ending ending) noexcept;
  ProcessRecord& unused_record();
  ProcessRecord* find(ProcessRef ref) const;
  std::string place() const;

  FramePool::Owner frames_ = FramePool::create();
  EventList events_;
  std::vector<std::unique_ptr<ProcessRecord>> processes_;
  ProcessRecord* unused_process_ = nullptr;
  std::deque<Call> calls_;
  Call* unused_call_ = nullptr;

  Time now_;
  ProcessRecord* running_ = nullptr;
  const ProcessName* woken_too_late_ = nullptr;
  Order order_ = Order::environment;  // of the event that fires
  bool firing_ = false;
  bool closing_ = false;

  std::uint64_t events_fired_ = 0;
  std::uint64_t fired_before_now_ = 0;
  std::uint64_t events_a_second_limit_ = 1'000'000;
  std::uint64_t watch_every_ = 0;
  std::uint64_t next_watch_ = UINT64_MAX;
  std::uint64_t next_look_ = 0;
  Callback watch_;
};

inline FramePool& frames_of(Simulation& simulation) { return *simulation.frames_; }

/// co_await: simulation.delay and simulation.until.
class [[nodiscard]] Delay : public Wait<Delay> {
 public:
  explicit Delay(Time moment, std::optional<Order> order = {}) : moment_{moment}, order_{order} {}
  Delay(Delay&& other) noexcept : Wait{std::move(other)}, moment_{other.moment_}, order_{other.order_} {}
  ~Delay() { disarm(); }

  bool ready(ProcessRecord&) const { return false; }
  void arm(Waiter& waiter) {
    waiter_ = &waiter;
    event_ = process().simulation->add_event(moment_, order_.value_or(process().home), fire, this);
  }
  void disarm() noexcept {
    if (event_) process().simulation->events_.cancel(std::exchange(event_, {}));
  }
  void result() const {}

 private:
  friend class Simulation;

  static void fire(void* delay) {
    auto& self = *static_cast<Delay*>(delay);
    self.event_ = {};
    self.decide();
    self.process().simulation->resume(self.process());
  }

  Time moment_;
  EventId event_;
  std::optional<Order> order_;
};

/// co_await: simulation.join.
class [[nodiscard]] Join : public Wait<Join>, public Link {
 public:
  Join(Simulation& simulation, ProcessRef target) : simulation_{&simulation}, target_{target} {}
  Join(Join&& other) noexcept : Wait{std::move(other)}, simulation_{other.simulation_}, target_{other.target_} {}

  bool ready(ProcessRecord&) const { return !simulation_->alive(target_); }
  void arm(Waiter& waiter) {
    if (waiter.process->ref == target_) throw InternalError("a process cannot wait for its own end");
    waiter_ = &waiter;
    simulation_->find(target_)->joiners.append(*this);
  }
  void disarm() noexcept { unlink(); }
  Ending result() const { return ending_; }

 private:
  friend class Simulation;

  Simulation* simulation_;
  ProcessRef target_;
  Ending ending_ = Ending::over_already;
};

inline Delay Simulation::delay(Duration length) const { return Delay{now_ + length}; }
inline Delay Simulation::delay(Duration length, Order order) const { return Delay{now_ + length, order}; }
inline Delay Simulation::until(Time moment) const { return Delay{moment}; }
inline Delay Simulation::until(Time moment, Order order) const { return Delay{moment, order}; }
inline Join Simulation::join(ProcessRef process) { return {*this, process}; }

/// A local that stops its process when it goes out of scope.
class [[nodiscard]] Scoped {
 public:
  Scoped(Simulation& simulation, Process<> life, Order home = Order::animal)
      : simulation_{simulation}, process_{simulation.spawn(std::move(life), home)} {}
  ~Scoped() { simulation_.stop(process_); }
  Scoped(const Scoped&) = delete;
  Scoped& operator=(const Scoped&) = delete;

  ProcessRef process() const { return process_; }

 private:
  Simulation& simulation_;
  ProcessRef process_;
};

}  // namespace farrowtide
