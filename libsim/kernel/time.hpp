#pragma once

#include <compare>
#include <cstdint>
#include <string>

#include "libsim/kernel/names.hpp"

namespace farrowtide {

/// A length of time in whole seconds, possibly negative.
class Duration {
 public:
  constexpr Duration() = default;
  explicit constexpr Duration(std::int64_t seconds) : seconds_{seconds} {}

  /// Rounded to the nearest second; not-a-number, infinity and more than 30,000 years throw InternalError.
  static Duration from_seconds(double seconds);
  static Duration from_minutes(double minutes);
  static Duration from_hours(double hours);
  static Duration from_days(double days);

  constexpr std::int64_t seconds() const { return seconds_; }
  constexpr double minutes() const { return static_cast<double>(seconds_) / 60; }
  constexpr double hours() const { return static_cast<double>(seconds_) / 3600; }
  constexpr double days() const { return static_cast<double>(seconds_) / 86400; }

  friend constexpr auto operator<=>(Duration, Duration) = default;
  friend constexpr Duration operator+(Duration a, Duration b) { return Duration{a.seconds_ + b.seconds_}; }
  friend constexpr Duration operator-(Duration a, Duration b) { return Duration{a.seconds_ - b.seconds_}; }
  friend constexpr Duration operator*(Duration a, std::int64_t times) { return Duration{a.seconds_ * times}; }
  friend constexpr Duration operator*(std::int64_t times, Duration a) { return a * times; }
  friend constexpr double operator/(Duration a, Duration b) {
    return static_cast<double>(a.seconds_) / static_cast<double>(b.seconds_);
  }
  constexpr Duration operator-() const { return Duration{-seconds_}; }
  constexpr Duration& operator+=(Duration other) { return *this = *this + other; }
  constexpr Duration& operator-=(Duration other) { return *this = *this - other; }

 private:
  std::int64_t seconds_ = 0;
};

inline namespace literals {
constexpr Duration operator""_s(unsigned long long n) { return Duration{static_cast<std::int64_t>(n)}; }
constexpr Duration operator""_min(unsigned long long n) { return Duration{static_cast<std::int64_t>(n) * 60}; }
constexpr Duration operator""_h(unsigned long long n) { return Duration{static_cast<std::int64_t>(n) * 3600}; }
constexpr Duration operator""_d(unsigned long long n) { return Duration{static_cast<std::int64_t>(n) * 86400}; }
}  // namespace literals

/// A moment: whole seconds since the simulation's start, which is midnight of day 0.
class Time {
 public:
  constexpr Time() = default;
  explicit constexpr Time(Duration since_start) : since_start_{since_start} {}

  constexpr Duration since_start() const { return since_start_; }
  constexpr std::int64_t day() const { return floor_days(since_start_.seconds()); }
  constexpr std::int64_t second_of_day() const { return since_start_.seconds() - day() * 86400; }
  constexpr double hour_of_day() const { return static_cast<double>(second_of_day()) / 3600; }
  constexpr Time start_of_day() const { return Time{day() * 1_d}; }

  friend constexpr auto operator<=>(Time, Time) = default;
  friend constexpr Time operator+(Time t, Duration d) { return Time{t.since_start_ + d}; }
  friend constexpr Time operator-(Time t, Duration d) { return Time{t.since_start_ - d}; }
  friend constexpr Duration operator-(Time a, Time b) { return a.since_start_ - b.since_start_; }
  constexpr Time& operator+=(Duration d) { return *this = *this + d; }

 private:
  static constexpr std::int64_t floor_days(std::int64_t s) { return s / 86400 - (s % 86400 < 0 ? 1 : 0); }

  Duration since_start_;
};

/// The first moment strictly after `now` at the clock time `time_of_day` [0 h, 24 h).
constexpr Time next_time_of_day(Time now, Duration time_of_day) {
  const Time today = now.start_of_day() + time_of_day;
  return today > now ? today : today + 1_d;
}

/// "day 3 06:00:00".
std::string to_string(Time time);

/// Events of the same second happen in this order; within an order, in the order of scheduling.
enum class Order : std::uint8_t {
  environment,  ///< calendars, shifts, temperature
  animal,       ///< biology: onset, birth, death
  release,      ///< work completed, seats released, every wake-up
  decision,     ///< patience running out, policies
  task,         ///< starts of work
  record,       ///< rows written; the second is then final: scheduling or waking at now throws
};

constexpr auto names(Order) {
  using enum Order;
  return std::to_array<Name<Order>>({{environment, "environment"},
                                     {animal, "animal"},
                                     {release, "release"},
                                     {decision, "decision"},
                                     {task, "task"},
                                     {record, "record"}});
}
std::string to_string(Order order);

}  // namespace farrowtide
