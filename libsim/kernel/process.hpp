#pragma once

#include <concepts>
#include <coroutine>
#include <cstdint>
#include <exception>
#include <optional>
#include <string>
#include <type_traits>
#include <utility>

#include "libsim/kernel/errors.hpp"
#include "libsim/kernel/event_list.hpp"
#include "libsim/kernel/frame_pool.hpp"
#include "libsim/kernel/linked_list.hpp"
#include "libsim/kernel/wait.hpp"

namespace farrowtide {

class Join;
class Simulation;

/// Identifies a spawned process; the ref of a process that has ended is stale and harmless.
struct ProcessRef {
  std::uint32_t slot = UINT32_MAX;
  std::uint32_t generation = 0;

  friend bool operator==(ProcessRef, ProcessRef) = default;
};

/// For messages: what the process does, and for which animal, room or person.
struct ProcessName {
  const char* what = "process";  ///< a string literal
  std::int64_t number = -1;      ///< negative: none
};

std::string to_string(ProcessName name);

/// The loop's record of one spawned process.
struct ProcessRecord {
  enum class State : std::uint8_t { unused, alive, ending };

  ProcessRecord(Simulation& owner, std::uint32_t slot) : simulation{&owner}, ref{slot, 0}, alone{this} {}

  Simulation* simulation;
  ProcessRef ref;
  Waiter alone;                         // used by a wait with a single arm
  std::coroutine_handle<> outermost;    // the frame that was spawned
  std::coroutine_handle<> waiting_at;   // the innermost frame: where a wake-up resumes
  std::coroutine_handle<> next;         // resumed without an event: a sub-process just called, or its caller
  std::exception_ptr* error = nullptr;  // what the outermost frame threw
  EventId wake_up;
  ProcessName name;
  Order home = Order::animal;
  State state = State::unused;
  bool stop_at_next_wait = false;
  LinkedList<Join> joiners;
  ProcessRecord* next_unused = nullptr;
};

template <class T>
concept LeadsToSimulation = requires(T& object) {
  { object.simulation() } -> std::same_as<Simulation&>;
};

FramePool& frames_of(Simulation& simulation);

/// The simulation among a process's arguments (for a member function the object counts as the first).
template <class First, class... Rest>
Simulation& find_simulation(First& first, Rest&... rest) {
  if constexpr (std::same_as<First, Simulation>) {
    return first;
  } else if constexpr (LeadsToSimulation<First>) {
    return first.simulation();
  } else {
    static_assert(sizeof...(Rest) > 0, "a Process needs an argument that is a Simulation& or has simulation()");
    return find_simulation(rest...);
  }
}

/// The part of a process's frame that does not depend on its result.
struct PromiseBase {
  /// Returns control to the calling frame, through the loop; an outermost process returns it to the loop itself.
  struct HandBack {
    bool await_ready() const noexcept { return false; }
    template <class Promise>
    void await_suspend(std::coroutine_handle<Promise> done) const noexcept {
      PromiseBase& promise = done.promise();
      promise.process->next = promise.caller;
    }
    void await_resume() const noexcept {}
  };

  // Inlined even in a debug build, where g++ 12 would take this new and this delete for a mismatched pair and warn.
  template <class... Arguments>
  [[gnu::always_inline]] static void* operator new(std::size_t size, Arguments&... arguments) {
    return frames_of(find_simulation(arguments...)).allocate(size);
  }
  [[gnu::always_inline]] static void operator delete(void* frame, std::size_t size) {
    FramePool::deallocate(frame, size);
  }

  std::suspend_always initial_suspend() const noexcept { return {}; }
  HandBack final_suspend() const noexcept { return {}; }
  void unhandled_exception() noexcept { error = std::current_exception(); }
  void rethrow() const {
    if (error) std::rethrow_exception(error);
  }

  ProcessRecord* process = nullptr;
  std::coroutine_handle<> caller;
  std::exception_ptr error;
  ProcessName name;
};

template <class T>
struct Promise;

/// A function that takes simulated time. It starts when another process awaits it, as part of that process, or when
/// Simulation::spawn makes it a process of its own.
///
///   Process<> stay(Room& room, Sow& sow) {
///     Simulation& clock = room.simulation();
///     co_await clock.until(sow.onset);
///     const Litter litter = co_await farrow(room, sow);
///   }
///
/// Two rules keep g++ 12 from miscompiling such functions (the lint in .ci checks them): a co_await stands alone in its
/// statement, `const auto name = co_await thing;`, and parameters are values or references to entities that outlive it.
template <class T = void>
class [[nodiscard]] Process {
 public:
  using promise_type = Promise<T>;
  using Handle = std::coroutine_handle<promise_type>;

  explicit Process(Handle frame) noexcept : frame_{frame} {}
  Process(Process&& other) noexcept : frame_{std::exchange(other.frame_, {})} {}
  Process& operator=(Process&& other) noexcept {
    std::swap(frame_, other.frame_);
    return *this;
  }
  ~Process() {
    if (frame_) frame_.destroy();
  }

  /// For messages: spawn(stay(room, sow).named("stay of sow", 12)). `what` is a string literal.
  Process&& named(const char* what, std::int64_t number = -1) && {
    frame_.promise().name = {what, number};
    return std::move(*this);
  }

  bool await_ready() const noexcept { return false; }
  template <class CallerPromise>
  void await_suspend(std::coroutine_handle<CallerPromise> caller) {
    if (!frame_ || frame_.done()) throw InternalError("a sub-process was awaited twice");
    ProcessRecord& process = *caller.promise().process;
    process.waiting_at = caller;
    if (process.stop_at_next_wait) return;
    frame_.promise().process = &process;
    frame_.promise().caller = caller;
    process.next = frame_;
  }
  T await_resume() { return frame_.promise().take(); }

 private:
  friend class Simulation;

  Handle frame_;
};

template <class T>
struct Promise : PromiseBase {
  Process<T> get_return_object() { return Process<T>{std::coroutine_handle<Promise>::from_promise(*this)}; }
  template <class Value>
  requires std::convertible_to<Value&&, T>
  void return_value(Value&& value) { result.emplace(std::forward<Value>(value)); }
  T take() {
    rethrow();
    return std::move(*result);
  }

  std::optional<T> result;
};

template <>
struct Promise<void> : PromiseBase {
  Process<void> get_return_object() { return Process<void>{std::coroutine_handle<Promise>::from_promise(*this)}; }
  void return_void() const noexcept {}
  void take() const { rethrow(); }
};

}  // namespace farrowtide
