#pragma once

#include <concepts>
#include <coroutine>
#include <cstddef>
#include <tuple>
#include <type_traits>
#include <utility>
#include <variant>

#include "libsim/kernel/process.hpp"
#include "libsim/kernel/wait.hpp"

namespace farrowtide {

/// Which arm of a first_of won, and its result. Owns the result: a seat it holds is released with it.
template <class... Results>
class [[nodiscard]] FirstResult {
 public:
  template <std::size_t Arm, class... Value>
  explicit FirstResult(std::in_place_index_t<Arm> arm, Value&&... value)
      : result_{arm, std::forward<Value>(value)...} {}

  /// Index of the winning arm, from 0 at the left.
  std::size_t which() const { return result_.index(); }

  /// Moves out the result of arm `Arm`, which must have won.
  template <std::size_t Arm>
  auto take() {
    if (which() != Arm) throw InternalError("took the result of an arm that did not win");
    return std::move(std::get<Arm>(result_));
  }

 private:
  std::variant<Results...> result_;
};

/// co_await: the first of several waits. Of arms that are satisfied at once, the leftmost wins; otherwise the first
/// event wins, in the order (time, order, sequence). The others are withdrawn at that event.
template <class... Arms>
class [[nodiscard]] FirstOf : private Waiter {
 public:
  explicit FirstOf(Arms&&... arms) : arms_{std::move(arms)...} {}
  ~FirstOf() {
    if (winner_ == none) winner_ = closed;  // withdrawing one may satisfy another, now too late
    withdraw_others();
  }
  FirstOf(const FirstOf&) = delete;
  FirstOf& operator=(const FirstOf&) = delete;

  bool await_ready() const noexcept { return false; }

  template <class Promise>
  bool await_suspend(std::coroutine_handle<Promise> here) {
    process = here.promise().process;
    choose = choose_first;
    process->waiting_at = here;
    if (process->stop_at_next_wait) return true;
    for_each_arm([this](auto& arm, std::size_t index) {
      if (winner_ == none && arm.ready(*process)) winner_ = index;
    });
    if (winner_ != none) return false;
    for_each_arm([this](auto& arm, std::size_t) {
      if (winner_ == none) arm.arm(*this);  // arming one may satisfy an earlier one
    });
    return true;
  }

  auto await_resume() { return result_from<0>(); }

 private:
  static constexpr std::size_t none = sizeof...(Arms);
  static constexpr std::size_t closed = none + 1;

  template <class T>
  using Value = std::conditional_t<std::is_void_v<T>, std::monostate, T>;
  using Result = FirstResult<Value<decltype(std::declval<Arms&>().result())>...>;

  template <class Visit>
  void for_each_arm(Visit visit) {
    for_each_arm(visit, std::index_sequence_for<Arms...>{});
  }
  template <class Visit, std::size_t... Index>
  void for_each_arm(Visit& visit, std::index_sequence<Index...>) {
    (visit(std::get<Index>(arms_), Index), ...);
  }

  static bool choose_first(Waiter& waiter, Arm& winner) {
    auto& self = static_cast<FirstOf&>(waiter);
    if (self.winner_ != none) return false;
    self.for_each_arm([&](Arm& arm, std::size_t index) {
      if (&arm == &winner) self.winner_ = index;
    });
    self.withdraw_others();
    return true;
  }

  void withdraw_others() noexcept {
    for_each_arm([this](auto& arm, std::size_t index) {
      if (index != winner_) arm.disarm();
    });
  }

  template <std::size_t Index>
  Result result_from() {
    if constexpr (Index + 1 < sizeof...(Arms)) {
      if (winner_ != Index) return result_from<Index + 1>();
    }
    using ArmResult = decltype(std::get<Index>(arms_).result());
    if constexpr (std::is_void_v<ArmResult>) {
      return Result{std::in_place_index<Index>};
    } else {
      return Result{std::in_place_index<Index>, std::get<Index>(arms_).result()};
    }
  }

  std::tuple<Arms...> arms_;
  std::size_t winner_ = none;
};

/// co_await first_of(clock.until(weaning), sow.died.wait()). An arm is a delay, a signal, a milestone, a join, a
/// request or a serve; for a sub-process, spawn it and join it.
template <class... Arms>
FirstOf<Arms...> first_of(Arms... arms) {
  static_assert((std::derived_from<Arms, Arm> && ...), "an arm of first_of is a wait; spawn a Process and join it");
  static_assert(sizeof...(Arms) > 0, "first_of needs at least one arm");
  return FirstOf<Arms...>{std::move(arms)...};
}

}  // namespace farrowtide
