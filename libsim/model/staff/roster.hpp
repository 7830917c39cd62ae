#pragma once

#include <bitset>
#include <optional>
#include <string_view>
#include <vector>

#include "libsim/kernel/resource.hpp"
#include "libsim/kernel/time.hpp"

namespace farrowtide {

class Coefficients;

/// A shift that repeats on some weekdays; one that ends at or before it begins runs into the next day.
struct Shift {
  std::bitset<7> weekdays;  ///< bit 0 is Monday
  Duration from;            ///< clock time
  Duration until;           ///< clock time
  int people;
  Duration break_length = {};               ///< everyone at once; none by default
  std::optional<Duration> break_from = {};  ///< clock time; the middle of the shift if not given
};

/// People at work without a pause.
struct Duty {
  Time begin;
  Time end;
  int people;
  ShiftEnd at_end = ShiftEnd::finish_task;
};

/// The shifts of a week.
class Roster {
 public:
  explicit Roster(std::vector<Shift> shifts);

  /// The usual day: 07-16 with an hour's break, at the weekend a part of the crew (rounded up). Common practice.
  static Roster usual(const Coefficients& coefficients, int people);

  /// Duties that begin on the first `days` days, in order of time; first_weekday 0 is Monday.
  std::vector<Duty> duties(int first_weekday, int days) const;

  const std::vector<Shift>& shifts() const { return shifts_; }

 private:
  std::vector<Shift> shifts_;
};

/// Who is there to see farrowings, and how often they look.
struct Attendance {
  Roster roster;
  std::optional<Duration> round_every;  ///< farrowing rounds while staff are on; none: no rounds and no exams
};

/// The attendances used for fitting and tests: "observed", "day shift", "unattended".
Attendance named_attendance(const Coefficients& coefficients, std::string_view name);

}  // namespace farrowtide
