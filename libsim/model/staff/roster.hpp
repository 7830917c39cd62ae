#pragma once

#include <bitset>
#include <functional>
#include <optional>
#include <string_view>
#include <utility>
#include <vector>

#include "libsim/kernel/resource.hpp"
#include "libsim/kernel/time.hpp"

namespace farrowtide {

class Coefficients;

/// A shift that repeats on given weekdays; if it ends at or before its start time, it runs into the next day.
struct Shift {
  std::bitset<7> weekdays;  ///< bit 0 is Monday
  Duration from;            ///< time of day
  Duration until;           ///< time of day
  int people;
  Duration break_length = {};               ///< taken by everyone at the same time; none by default
  std::optional<Duration> break_from = {};  ///< time of day; if not given, the break is in the middle of the shift
  double absence = 0;                       ///< share of days on which a given person is absent, 0-1
};

Duration length_of(const Shift& shift);  ///< including the break
/// Start and end of the break, relative to the start of the shift.
std::pair<Duration, Duration> break_of(const Shift& shift);

/// An uninterrupted period with people on duty.
struct Duty {
  Time begin;
  Time end;
  int people;
  ShiftEnd at_end = ShiftEnd::finish_task;
};

/// Merges duties that may overlap into consecutive intervals, each with the total number of people on duty.
std::vector<Duty> one_after_the_other(const std::vector<Duty>& duties);

/// The weekly shifts.
class Roster {
 public:
  explicit Roster(std::vector<Shift> shifts);

  /// The default roster: 07-16 with an hour's break; at weekends a share of the staff (rounded up). Common practice.
  static Roster usual(const Coefficients& coefficients, int people);

  /// Duties that begin on the first `days` days, sorted by start; first_weekday 0 is Monday.
  std::vector<Duty> duties(int first_weekday, int days) const;

  /// The same without absent people; `is_absent` is called with day, shift index and person index, each from 0.
  using IsAbsent = std::function<bool(int day, int shift, int person)>;
  std::vector<Duty> duties(int first_weekday, int days, const IsAbsent& is_absent) const;

  /// The breaks of those shifts, of the people who are not absent, sorted by start.
  std::vector<Duty> breaks(int first_weekday, int days, const IsAbsent& is_absent) const;

  /// The same with `people` on duty every night, from the end of the last shift to the start of the first. Lone night
  /// work is a safety hazard. Throws UserError if there is no shift or one that runs overnight.
  Roster with_night_cover(int people) const;
  bool goes_through_the_night() const;

  const std::vector<Shift>& shifts() const { return shifts_; }

 private:
  // What `add(shift, begin, people, put)` puts for each shift that begins on the first `days` days, sorted by start.
  template <class Add>
  std::vector<Duty> of_each_shift(int first_weekday, int days, const IsAbsent& is_absent, Add add) const;

  std::vector<Shift> shifts_;
};

/// Staffing for farrowing supervision, and the interval between farrowing rounds.
struct Attendance {
  Roster roster;
  std::optional<Duration> round_every;  ///< while staff are on duty; if empty, no rounds and no exams
};

/// The attendance regimes used for fitting and tests: "observed", "day shift", "unattended".
Attendance named_attendance(const Coefficients& coefficients, std::string_view name);

}  // namespace farrowtide
