#pragma once

#include <coroutine>

namespace farrowtide {

class Arm;
struct ProcessRecord;

/// Notified when an arm is satisfied: a process, either directly or through the first_of that chooses for it.
struct Waiter {
  /// Records the winner and withdraws the losers; false if another arm has already won.
  using Choose = bool (*)(Waiter& waiter, Arm& winner);

  ProcessRecord* process = nullptr;
  Choose choose = nullptr;  ///< null when there is one arm only
};

/// One thing a process waits for. Movable until it is armed; from then on its source knows its address.
class Arm {
 public:
  Arm(Arm&&) noexcept {}
  Arm& operator=(Arm&&) = delete;

  /// The wait is over: decided now, losing arms withdrawn; the loop resumes the process later in this second.
  void wake() noexcept;

 protected:
  Arm() = default;
  ~Arm() = default;

  /// Makes this arm the winner; false if another has won. The caller must resume the process.
  bool decide() noexcept { return waiter_->choose == nullptr || waiter_->choose(*waiter_, *this); }
  ProcessRecord& process() const { return *waiter_->process; }

  Waiter* waiter_ = nullptr;  // set while armed
};

/// Makes a kind of arm something a process can co_await. Kind offers
///   bool ready(ProcessRecord&)   true if satisfied already: it has taken what it waits for and is not armed;
///   void arm(Waiter&)            registers with its source; may be satisfied before this returns;
///   void disarm() noexcept       withdraws; harmless when not armed;
///   T result()                   what co_await returns.
template <class Kind>
class Wait : public Arm {
 public:
  bool await_ready() const noexcept { return false; }

  template <class Promise>
  bool await_suspend(std::coroutine_handle<Promise> here) {
    auto& process = *here.promise().process;
    process.waiting_at = here;
    if (process.stop_at_next_wait) return true;  // the loop does the rest
    auto& kind = static_cast<Kind&>(*this);
    if (kind.ready(process)) return false;
    kind.arm(process.alone);
    return true;
  }

  decltype(auto) await_resume() { return static_cast<Kind&>(*this).result(); }
};

}  // namespace farrowtide
