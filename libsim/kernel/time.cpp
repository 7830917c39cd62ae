#include "libsim/kernel/time.hpp"

#include <array>
#include <cmath>
#include <cstdio>

#include "libsim/kernel/errors.hpp"

namespace farrowtide {

Duration Duration::from_seconds(double seconds) {
  constexpr double longest_s = 1e12;
  if (!(std::abs(seconds) <= longest_s)) {
    throw InternalError("a duration of " + std::to_string(seconds) + " s cannot be represented");
  }
  return Duration{std::llround(seconds)};
}

Duration Duration::from_minutes(double minutes) { return from_seconds(minutes * 60); }
Duration Duration::from_hours(double hours) { return from_seconds(hours * 3600); }
Duration Duration::from_days(double days) { return from_seconds(days * 86400); }

std::string to_string(Time time) {
  const auto second = static_cast<int>(time.second_of_day());
  std::array<char, 48> text{};
  std::snprintf(text.data(), text.size(), "day %lld %02d:%02d:%02d", static_cast<long long>(time.day()), second / 3600,
                second / 60 % 60, second % 60);
  return text.data();
}

std::string to_string(Order order) { return std::string(name_of(order)); }

}  // namespace farrowtide
