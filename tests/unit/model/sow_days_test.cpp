// What a sow's days come to over her lactation, by hand.
#include "libsim/model/sow_days.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

namespace farrowtide {
namespace {

// Days 3 to 3 + n of the calendar, each with what was eaten [kg].
std::vector<SowDay> days_eating(std::vector<double> eaten_kg, int first_calendar_day = 3) {
  std::vector<SowDay> days;
  for (const double kg : eaten_kg) {
    const int day = first_calendar_day + static_cast<int>(days.size());
    days.push_back({.calendar_day = day, .meals = static_cast<int>(kg), .eaten_kg = kg});
  }
  return days;
}

TEST(LactationDays, BeginOnTheDayAfterTheLastBirth) {
  const auto stay = days_eating({2, 2, 9, 4, 6});  // the last birth was on day 5, with 9 kg
  const LactationDays lactation(stay, 5);
  EXPECT_DOUBLE_EQ(lactation.mean(&SowDay::eaten_kg), 5);
  EXPECT_DOUBLE_EQ(lactation.meals_per_day(), 5);
}

TEST(LactationDays, GoUntilALactationDayAndWithIt) {
  const auto stay = days_eating({9, 1, 2, 3, 40});
  const LactationDays lactation(stay, 3);
  EXPECT_DOUBLE_EQ(lactation.until(3).mean(&SowDay::eaten_kg), 2);
  EXPECT_DOUBLE_EQ(lactation.until(7).mean(&SowDay::eaten_kg), 11.5);
}

TEST(LactationDays, CountDaysOfLittleFeedAndOfNone) {
  const auto stay = days_eating({0, 0, 1, 3, 0, 4});
  const LactationDays lactation(stay, 3);
  EXPECT_EQ(lactation.count_without_feed(), 2);
  EXPECT_EQ(lactation.count_below(3), 3) << "3 kg are not below 3 kg";
}

TEST(LactationDays, AreMissingWhereThereAreNone) {
  const auto stay = days_eating({5, 6}, 20);  // a nurse sow, in milk since day 10: she was elsewhere in her first week
  const LactationDays lactation(stay, 10);
  EXPECT_DOUBLE_EQ(lactation.mean(&SowDay::eaten_kg), 5.5);
  EXPECT_TRUE(std::isnan(lactation.until(7).mean(&SowDay::eaten_kg)));
  EXPECT_TRUE(std::isnan(lactation.until(7).meals_per_day()));
  EXPECT_EQ(lactation.until(7).count_without_feed(), 0);
}

}  // namespace
}  // namespace farrowtide
