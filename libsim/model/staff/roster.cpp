#include "libsim/model/staff/roster.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <map>
#include <string>
#include <utility>

#include "libsim/kernel/errors.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {
namespace {

constexpr int days_a_week = 7;
constexpr auto every_day = std::bitset<7>{0b1111111};
constexpr auto weekend = std::bitset<7>{0b1100000};

std::string clock_text(Duration time_of_day) { return to_string(Time{time_of_day}).substr(sizeof "day 0"); }

void check(const Shift& shift) {
  const std::string which = "shift " + clock_text(shift.from) + " to " + clock_text(shift.until);
  if (!(shift.absence >= 0 && shift.absence <= 1)) {
    throw UserError(which + " has an absence of " + std::to_string(shift.absence) + "; give 0 to 1");
  }
  if (shift.people < 0) throw UserError(which + " has " + std::to_string(shift.people) + " people; give 0 or more");
  if (shift.break_length < 0_s || shift.break_length >= length_of(shift)) {
    throw UserError(which +
                    " has a break that is negative or as long as the shift; give 0 or more, and less than the shift");
  }
  if (break_of(shift).second > length_of(shift)) {
    throw UserError(which + " has its break at " + clock_text(*shift.break_from) + ", which is not within the shift");
  }
}

}  // namespace

Duration length_of(const Shift& shift) {
  return shift.until > shift.from ? shift.until - shift.from : shift.until + 1_d - shift.from;
}

std::pair<Duration, Duration> break_of(const Shift& shift) {
  const Duration middle{(length_of(shift) - shift.break_length).seconds() / 2};
  if (!shift.break_from) return {middle, middle + shift.break_length};
  const Duration begins =
      *shift.break_from >= shift.from ? *shift.break_from - shift.from : *shift.break_from + 1_d - shift.from;
  return {begins, begins + shift.break_length};
}

Roster::Roster(std::vector<Shift> shifts) : shifts_{std::move(shifts)} {
  for (const Shift& shift : shifts_) check(shift);
}

Roster Roster::usual(const Coefficients& coefficients, int people) {
  const auto roster = coefficients.group("staff.roster");
  const double share = roster.number("weekend_share", "-");
  Shift shift{.weekdays = every_day & ~weekend,
              .from = Duration::from_hours(roster.number("shift_from", "h")),
              .until = Duration::from_hours(roster.number("shift_until", "h")),
              .people = people,
              .break_length = Duration::from_minutes(roster.number("break_length", "min"))};
  Shift at_weekend = shift;
  at_weekend.weekdays = weekend;
  at_weekend.people = static_cast<int>(std::ceil(people * share));
  return Roster{{shift, at_weekend}};
}

std::vector<Duty> Roster::duties(int first_weekday, int days) const {
  return duties(first_weekday, days, [](int, int, int) { return false; });
}

template <class Add>
std::vector<Duty> Roster::of_each_shift(int first_weekday, int days, const IsAbsent& is_absent, Add add) const {
  std::vector<Duty> duties;
  const auto put = [&duties](Time begin, Time end, int people) {
    if (begin < end && people > 0) duties.push_back({begin, end, people});
  };
  for (int day = 0; day < days; ++day) {
    for (std::size_t i = 0; i < shifts_.size(); ++i) {
      const Shift& shift = shifts_[i];
      if (!shift.weekdays[static_cast<std::size_t>((first_weekday + day) % days_a_week)]) continue;
      int people = 0;
      for (int person = 0; person < shift.people; ++person) people += !is_absent(day, static_cast<int>(i), person);
      add(shift, Time{day * 1_d + shift.from}, people, put);
    }
  }
  std::stable_sort(duties.begin(), duties.end(), [](const Duty& a, const Duty& b) { return a.begin < b.begin; });
  return duties;
}

std::vector<Duty> Roster::duties(int first_weekday, int days, const IsAbsent& is_absent) const {
  return of_each_shift(first_weekday, days, is_absent, [](const Shift& shift, Time begin, int people, auto put) {
    const auto [break_begins, break_ends] = break_of(shift);
    if (shift.break_length > 0_s) put(begin, begin + break_begins, people);
    put(shift.break_length > 0_s ? begin + break_ends : begin, begin + length_of(shift), people);
  });
}

std::vector<Duty> Roster::breaks(int first_weekday, int days, const IsAbsent& is_absent) const {
  return of_each_shift(first_weekday, days, is_absent, [](const Shift& shift, Time begin, int people, auto put) {
    const auto [break_begins, break_ends] = break_of(shift);
    if (shift.break_length > 0_s) put(begin + break_begins, begin + break_ends, people);
  });
}

bool Roster::goes_through_the_night() const {
  return std::ranges::any_of(shifts_, [](const Shift& shift) { return shift.until <= shift.from; });
}

Roster Roster::with_night_cover(int people) const {
  if (people == 0) return *this;
  if (shifts_.empty() || goes_through_the_night())
    throw UserError("night cover needs at least one shift, and none that runs overnight");
  std::vector<Shift> all = shifts_;
  all.push_back({.weekdays = every_day,
                 .from = std::ranges::max(shifts_, {}, &Shift::until).until,
                 .until = std::ranges::min(shifts_, {}, &Shift::from).from,
                 .people = people});
  return Roster{std::move(all)};
}

std::vector<Duty> one_after_the_other(const std::vector<Duty>& duties) {
  std::map<Time, int> changes;  // in the number of people on duty
  for (const Duty& duty : duties) {
    changes[duty.begin] += duty.people;
    changes[duty.end] -= duty.people;
  }
  std::vector<Duty> intervals;
  int people = 0;
  for (auto change = changes.begin(); change != changes.end(); ++change) {
    people += change->second;
    const bool goes_on =
        !intervals.empty() && intervals.back().end == change->first && intervals.back().people == people;
    const auto next = std::next(change);
    if (people == 0 || next == changes.end()) continue;
    if (goes_on) {
      intervals.back().end = next->first;
    } else {
      intervals.push_back({change->first, next->first, people});
    }
  }
  return intervals;
}

Attendance named_attendance(const Coefficients& coefficients, std::string_view name) {
  const auto& names = coefficients.axis_labels("staff.attendance.round_every");
  const auto found = std::find(names.begin(), names.end(), name);
  if (found == names.end()) {
    throw UserError("unknown attendance \"" + std::string{name} + "\"; choose observed, day shift or unattended");
  }
  const auto place = static_cast<std::size_t>(found - names.begin());
  const auto people = [&](const char* path) {
    const auto& table = coefficients.table(path, "people");
    return static_cast<int>(std::lround(table[std::min(place, table.size() - 1)]));  // unattended: as for the day shift
  };
  const auto from = Duration::from_hours(coefficients.number("staff.roster.shift_from", "h"));
  const auto until = Duration::from_hours(coefficients.number("staff.roster.shift_until", "h"));
  Attendance attendance{Roster{{{every_day, from, until, people("staff.attendance.staff_by_day")},
                                {every_day, until, from, people("staff.attendance.staff_by_night")}}},
                        {}};
  const double every_min = coefficients.table("staff.attendance.round_every", "min")[place];
  if (every_min > 0) attendance.round_every = Duration::from_minutes(every_min);
  return attendance;
}

}  // namespace farrowtide
