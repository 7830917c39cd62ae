#pragma once

#include <algorithm>
#include <limits>
#include <optional>

#include "libsim/kernel/first_of.hpp"
#include "libsim/kernel/process.hpp"
#include "libsim/kernel/signal.hpp"
#include "libsim/kernel/simulation.hpp"
#include "libsim/kernel/time.hpp"

namespace farrowtide {

/// The rate of a hazard, and for how long it holds.
struct HazardRate {
  double per_day = 0;                                            ///< 0 or more
  double holds_for_d = std::numeric_limits<double>::infinity();  ///< after that it is evaluated again
  Signal* changed = nullptr;                                     ///< and whenever this fires; null: nothing changes it
};

/// co_await: until the hazard, integrated from now on, reaches `threshold`; returns true. With a unit-exponential
/// threshold this is the waiting time under a piecewise-constant hazard, at the cost of one event per piece.
///
///   const auto rate = [&sow]() -> std::optional<HazardRate> {
///     return HazardRate{.per_day = sow.ill() ? 0.3 : 0.1, .changed = &sow.health_changed};
///   };
///   const bool died = co_await threshold_reached(clock, threshold, rate);
///
/// `rate` is called at the start and whenever its last value no longer holds. If it returns nothing, the hazard is over
/// and the wait returns false. The clock counts whole seconds: a piece ends at the nearest one, plus `margin`.
template <class Rate>
Process<bool> threshold_reached(Simulation& clock, double threshold, Rate rate, Duration margin = 0_s) {
  constexpr double longest_piece_d = 3650;
  Signal never;
  while (threshold > 0) {
    const std::optional<HazardRate> now = rate();
    if (!now) co_return false;
    const double reached_d = now->per_day > 0 ? threshold / now->per_day : std::numeric_limits<double>::infinity();
    const double piece_d = std::min(now->holds_for_d, longest_piece_d);
    const Time began = clock.now();
    const Duration wait = Duration::from_days(std::min(reached_d, piece_d)) + margin;
    Signal& changed = now->changed ? *now->changed : never;
    const auto first = co_await first_of(clock.delay(wait), changed.wait());
    if (first.which() == 0 && reached_d <= piece_d) co_return true;
    threshold -= now->per_day * (clock.now() - began).days();
  }
  co_return true;
}

}  // namespace farrowtide
