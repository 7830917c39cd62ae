#pragma once

#include <utility>

#include "libsim/kernel/linked_list.hpp"
#include "libsim/kernel/process.hpp"
#include "libsim/kernel/wait.hpp"

namespace farrowtide {

/// co_await: signal.wait() and milestone.wait().
class [[nodiscard]] Listen : public Wait<Listen>, public Link {
 public:
  Listen(LinkedList<Listen>& listeners, const bool& happened) : listeners_{&listeners}, happened_{&happened} {}
  Listen(Listen&& other) noexcept : Wait{std::move(other)}, listeners_{other.listeners_}, happened_{other.happened_} {}

  bool ready(ProcessRecord&) const { return *happened_; }
  void arm(Waiter& waiter) {
    waiter_ = &waiter;
    listeners_->append(*this);
  }
  void disarm() noexcept { unlink(); }
  void result() const {}

 private:
  LinkedList<Listen>* listeners_;
  const bool* happened_;
};

/// Wakes the processes that wait at this moment and remembers nothing. A woken process checks its condition and, if
/// need be, waits again; use a Milestone for a fact that must not be missed.
class Signal {
 public:
  /// Wakes every listener, in the order in which they began to wait.
  void fire() noexcept {
    while (fire_one()) {}
  }

  /// Wakes the listener that has waited longest; false when there is none.
  bool fire_one() noexcept {
    if (listeners_.empty()) return false;
    Listen& listener = listeners_.front();
    listener.unlink();
    listener.wake();
    return true;
  }

  Listen wait() { return wait_unless(never_); }
  /// Waits unless `happened` is true when the wait begins.
  Listen wait_unless(const bool& happened) { return Listen{listeners_, happened}; }

 private:
  static constexpr bool never_ = false;

  LinkedList<Listen> listeners_;
};

/// A fact that stays true once it is reached (weaned, dead): waiting for it afterwards returns at once.
class Milestone {
 public:
  /// Reaching it again has no effect.
  void reach() noexcept {
    reached_ = true;
    arrivals_.fire();
  }

  bool reached() const { return reached_; }

  Listen wait() { return arrivals_.wait_unless(reached_); }
  /// Fires when it is reached.
  Signal& arrival() { return arrivals_; }

 private:
  Signal arrivals_;
  bool reached_ = false;
};

}  // namespace farrowtide
