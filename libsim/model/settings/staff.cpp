#include "libsim/model/settings/staff.hpp"

#include <algorithm>
#include <array>
#include <string>
#include <string_view>

namespace farrowtide {
namespace {

std::bitset<7> weekdays_from(const std::vector<std::string>& names) {
  static constexpr std::array<std::string_view, 7> order = {"mon", "tue", "wed", "thu", "fri", "sat", "sun"};
  std::bitset<7> days;
  for (std::size_t i = 0; i < order.size(); ++i) days[i] = std::ranges::find(names, order[i]) != names.end();
  return days;
}

Shift read_shift(Section& section) {
  const std::vector<std::string> week = {"mon", "tue", "wed", "thu", "fri", "sat", "sun"};
  Shift shift;
  shift.weekdays = weekdays_from(section.strings(
      {.name = "days", .options = week, .min_items = 1, .default_value = week, .help = "Days of the week."}));
  shift.from = section.time_of_day({.name = "from", .default_value = "07:00", .help = "Start of the shift."});
  shift.until = section.time_of_day(
      {.name = "until", .default_value = "16:00", .help = "End of the shift; work in progress is finished."});
  shift.people = section.integer(
      {.name = "people", .low = 1, .high = 50, .default_value = 2, .help = "Number of people on the shift."});
  shift.break_length = section.duration({.name = "break",
                                         .unit = "min",
                                         .low = 0,
                                         .high = 180,
                                         .help = "Length of the break, taken by everyone at the same time.",
                                         .coefficient = "staff.roster.break_length"});
  shift.absence = section.number({.name = "absence",
                                  .low = 0,
                                  .high = 0.5,
                                  .default_value = 0,
                                  .help = "Share of days on which a person on the shift is absent."});
  shift.break_from = section.optional_time_of_day(
      {.name = "break_from", .help = "Start of the break; by default, the break is in the middle of the shift."});
  if (section.describing()) return shift;
  if (shift.break_length >= length_of(shift)) {
    section.refuse("break", "is as long as the shift", "less than the shift");
  } else if (break_of(shift).second > length_of(shift)) {
    section.refuse("break_from", "puts the break outside the shift", "a break that ends before the shift does");
  } else {
    return shift;
  }
  // The rest of the file is checked with the shift that is left, so that every mistake is reported at once.
  shift.break_length = {};
  shift.break_from.reset();
  return shift;
}

}  // namespace

StaffSettings StaffSettings::read(Section& section) {
  StaffSettings staff;
  for (Section& shift :
       section.list("shifts",
                    "Work shifts; by default, two people 07:00-16:00, and one at weekends. Working alone at night is a "
                    "safety hazard.")) {
    staff.shifts.push_back(read_shift(shift));
  }
  staff.compliance = section.number(
      {.name = "compliance",
       .low = 0,
       .high = 1,
       .default_value = 1,
       .help = "Share of visits and rounds that are really made as written, each drawn by chance; the others "
               "are left out, and what they were for is done when it is asked for again, if ever. Exams, "
               "weaning, washing and setting up are always done."});
  if (staff.shifts.empty()) {
    const auto people = section.coefficients().table("staff.attendance.staff_by_day", "people").back();
    staff.shifts = Roster::usual(section.coefficients(), static_cast<int>(people)).shifts();
  }
  return staff;
}

}  // namespace farrowtide
