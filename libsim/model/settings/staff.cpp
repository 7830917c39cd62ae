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
  shift.from = section.time_of_day({.name = "from", .default_value = "07:00", .help = "Begin of work."});
  shift.until = section.time_of_day(
      {.name = "until", .default_value = "16:00", .help = "End of work; work in hand is finished."});
  shift.people =
      section.integer({.name = "people", .low = 1, .high = 50, .default_value = 2, .help = "People at work."});
  shift.break_length = section.duration({.name = "break",
                                         .unit = "min",
                                         .low = 0,
                                         .high = 180,
                                         .help = "Break of everyone at once.",
                                         .coefficient = "staff.roster.break_length"});
  shift.absence = section.number({.name = "absence",
                                  .low = 0,
                                  .high = 0.5,
                                  .default_value = 0,
                                  .help = "Share of days on which a person of the shift is missing."});
  shift.break_from = section.optional_time_of_day(
      {.name = "break_from", .help = "Begin of the break; the middle of the shift if left out."});
  return shift;
}

}  // namespace

StaffSettings StaffSettings::read(Section& section) {
  StaffSettings staff;
  for (Section& shift :
       section.list("shifts",
                    "Who is at work when; if left out, two people 07:00-16:00 and one of them at weekends. Working "
                    "alone at night is a hazard of its own.")) {
    staff.shifts.push_back(read_shift(shift));
  }
  if (staff.shifts.empty()) {
    const auto people = section.coefficients().table("staff.attendance.staff_by_day", "people").back();
    staff.shifts = Roster::usual(section.coefficients(), static_cast<int>(people)).shifts();
  }
  return staff;
}

}  // namespace farrowtide
