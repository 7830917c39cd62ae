#include "libsim/kernel/time.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "libsim/kernel/errors.hpp"

namespace farrowtide {
namespace {

static_assert(1_d == 24_h && 1_h == 60_min && 1_min == 60_s);
static_assert(3 * 20_min == 1_h && 1_h - 90_min == -30_min);
static_assert(36_h / 1_d == 1.5);
static_assert(Time{50_h}.day() == 2 && Time{50_h}.second_of_day() == 7200 && Time{50_h}.hour_of_day() == 2.0);
static_assert(Time{-1_s}.day() == -1 && Time{-1_s}.second_of_day() == 86399);
static_assert(Time{50_h} - Time{2_h} == 2_d && Time{50_h}.start_of_day() == Time{2_d});
static_assert(next_time_of_day(Time{5_h}, 6_h) == Time{6_h});
static_assert(next_time_of_day(Time{6_h}, 6_h) == Time{30_h});

TEST(Duration, RoundsToTheNearestSecond) {
  EXPECT_EQ(Duration::from_minutes(0.51), 31_s);
  EXPECT_EQ(Duration::from_hours(1.5), 90_min);
  EXPECT_EQ(Duration::from_days(-0.25), -6_h);
  EXPECT_EQ(Duration::from_seconds(0.49), 0_s);
  EXPECT_DOUBLE_EQ((36_h).days(), 1.5);
}

TEST(Duration, RefusesWhatIsNoNumberOfSeconds) {
  EXPECT_THROW(Duration::from_seconds(NAN), InternalError);
  EXPECT_THROW(Duration::from_hours(INFINITY), InternalError);
  EXPECT_THROW(Duration::from_days(1e8), InternalError);
}

TEST(Time, IsWrittenAsDayAndClock) {
  EXPECT_EQ(to_string(Time{3_d + 6_h + 5_min + 9_s}), "day 3 06:05:09");
  EXPECT_EQ(to_string(Order::decision), "decision");
}

}  // namespace
}  // namespace farrowtide
