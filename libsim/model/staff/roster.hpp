#pragma once

#include <bitset>
#include <functional>
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
  double absence = 0;                       ///< share of days on which one of the people is missing
};

/// People at work without a pause.
struct Duty {
  Time begin;
  Time end;
  int people;
  ShiftEnd at_end = ShiftEnd::finish_task;
};

/// Duties that may overlap as intervals one after the other, each with all the people of its time.
std::vector<Duty> one_after_the_other(const std::vector<Duty>& duties);

/// The shifts of a week.
class Roster {
 public:
  explicit Roster(std::vector<Shift> shifts);

  /// The usual day: 07-16 with an hour's break, at the weekend a part of the crew (rounded up). Common practice.
  static Roster usual(const Coefficients& coefficients, int people);

  /// Duties that begin on the first `days` days, in order of time; first_weekday 0 is Monday.
  std::vector<Duty> duties(int first_weekday, int days) const;

  /// The same without those who are missing: asked by day, number of the shift and number of the person, from 0.
  using IsAbsent = std::function<bool(int day, int shift, int person)>;
  std::vector<Duty> duties(int first_weekday, int days, const IsAbsent& is_absent) const;

  /// The same with people from the end of the last shift to the begin of the first, every night. Lone night work is a
  /// hazard of its own. Only where no shift goes through the night.
  Roster with_night_cover(int people) const;
  bool goes_through_the_night() const;

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
