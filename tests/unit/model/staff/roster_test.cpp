#include "libsim/model/staff/roster.hpp"

#include <gtest/gtest.h>

#include "libsim/kernel/errors.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {
namespace {

const Coefficients coefficients = Coefficients::built_in();
constexpr std::bitset<7> every_day{0b1111111};
constexpr std::bitset<7> monday{0b0000001};

double person_hours(const std::vector<Duty>& duties) {
  double sum = 0;
  for (const Duty& duty : duties) sum += duty.people * (duty.end - duty.begin).hours();
  return sum;
}

TEST(Roster, SplitsAShiftAtItsBreak) {
  const Roster roster{{{every_day, 7_h, 16_h, 2, 60_min, {}}}};
  const auto duties = roster.duties(0, 1);
  ASSERT_EQ(duties.size(), 2u);
  EXPECT_EQ(duties[0].begin, Time{7_h});
  EXPECT_EQ(duties[0].end, Time{11_h});
  EXPECT_EQ(duties[1].begin, Time{12_h});
  EXPECT_EQ(duties[1].end, Time{16_h});
  EXPECT_EQ(duties[1].people, 2);
  EXPECT_EQ(duties[1].at_end, ShiftEnd::finish_task);
}

TEST(Roster, TakesTheBreakWhenAsked) {
  const auto duties = Roster{{{every_day, 7_h, 16_h, 2, 30_min, 9_h}}}.duties(0, 1);
  ASSERT_EQ(duties.size(), 2u);
  EXPECT_EQ(duties[0].end, Time{9_h});
  EXPECT_EQ(duties[1].begin, Time{9_h + 30_min});
  const auto early = Roster{{{every_day, 7_h, 16_h, 2, 30_min, 7_h}}}.duties(0, 1);
  ASSERT_EQ(early.size(), 1u) << "a break at the beginning leaves one duty";
  EXPECT_EQ(early[0].begin, Time{7_h + 30_min});
}

TEST(Roster, TellsTheBreaksOfThosePresent) {
  const Roster roster{{{every_day, 7_h, 16_h, 2, 30_min, 9_h}, {every_day, 22_h, 6_h, 1}}};
  const auto first_is_absent = [](int day, int shift, int person) { return day == 1 && shift == 0 && person == 0; };
  const auto breaks = roster.breaks(0, 2, first_is_absent);
  ASSERT_EQ(breaks.size(), 2u) << "the night shift has no break";
  EXPECT_EQ(breaks[0].begin, Time{9_h});
  EXPECT_EQ(breaks[0].end, Time{9_h + 30_min});
  EXPECT_EQ(breaks[0].people, 2);
  EXPECT_EQ(breaks[1].begin, Time{1_d + 9_h});
  EXPECT_EQ(breaks[1].people, 1);
}

TEST(Roster, RunsANightShiftIntoTheNextDay) {
  const auto duties = Roster{{{every_day, 22_h, 6_h, 1, 30_min, 2_h}}}.duties(0, 2);
  ASSERT_EQ(duties.size(), 4u);
  EXPECT_EQ(duties[0].begin, Time{22_h});
  EXPECT_EQ(duties[0].end, Time{1_d + 2_h});
  EXPECT_EQ(duties[1].end, Time{1_d + 6_h});
}

TEST(Roster, CountsWeekdaysFromTheFirst) {
  constexpr int saturday = 5;
  const auto duties = Roster{{{monday, 7_h, 8_h, 1}}}.duties(saturday, 14);
  ASSERT_EQ(duties.size(), 2u);
  EXPECT_EQ(duties[0].begin, Time{2_d + 7_h});
  EXPECT_EQ(duties[1].begin, Time{9_d + 7_h});
}

TEST(Roster, GivesDutiesInOrderOfTime) {
  const auto duties = Roster{{{every_day, 14_h, 22_h, 1}, {every_day, 6_h, 14_h, 2}}}.duties(0, 3);
  ASSERT_EQ(duties.size(), 6u);
  for (std::size_t i = 1; i < duties.size(); ++i) EXPECT_LE(duties[i - 1].begin, duties[i].begin);
}

TEST(Roster, UsuallyHalvesTheCrewAtTheWeekend) {
  const auto duties = Roster::usual(coefficients, 3).duties(0, 7);
  EXPECT_DOUBLE_EQ(person_hours(duties), 8 * (5 * 3 + 2 * 2));
}

TEST(Roster, RefusesWhatCannotBe) {
  EXPECT_THROW((Roster{{{every_day, 7_h, 16_h, -1}}}), UserError);
  EXPECT_THROW((Roster{{{every_day, 7_h, 16_h, 1, 9_h, {}}}}), UserError);
  EXPECT_THROW((Roster{{{every_day, 7_h, 16_h, 1, 60_min, 15_h + 30_min}}}), UserError);
  EXPECT_THROW((Roster{{{every_day, 7_h, 16_h, 1, 60_min, 6_h}}}), UserError);
}

TEST(NamedAttendance, CoversTheHoursOfItsDefinition) {
  const auto& names = coefficients.axis_labels("staff.attendance.hours_with_rounds");
  const auto& hours = coefficients.table("staff.attendance.hours_with_rounds", "h/d");
  for (std::size_t i = 0; i < names.size(); ++i) {
    const Attendance attendance = named_attendance(coefficients, names[i]);
    double covered_h = 0;
    for (const Duty& duty : attendance.roster.duties(0, 1)) covered_h += (duty.end - duty.begin).hours();
    EXPECT_EQ(attendance.round_every ? covered_h : 0, hours[i]) << names[i];
  }
}

TEST(NamedAttendance, HasItsPeopleAndRounds) {
  const Attendance observed = named_attendance(coefficients, "observed");
  EXPECT_EQ(observed.round_every, 15_min);
  EXPECT_DOUBLE_EQ(person_hours(observed.roster.duties(0, 1)), 9 * 2 + 15 * 1);
  const Attendance day_shift = named_attendance(coefficients, "day shift");
  EXPECT_EQ(day_shift.round_every, 30_min);
  EXPECT_DOUBLE_EQ(person_hours(day_shift.roster.duties(0, 1)), 9 * 2);
  const Attendance unattended = named_attendance(coefficients, "unattended");
  EXPECT_FALSE(unattended.round_every);
  EXPECT_DOUBLE_EQ(person_hours(unattended.roster.duties(0, 1)), 9 * 2);
  EXPECT_THROW(named_attendance(coefficients, "sometimes"), UserError);
}

}  // namespace
}  // namespace farrowtide
