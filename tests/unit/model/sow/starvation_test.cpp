#include "libsim/model/sow/starvation.hpp"

#include <gtest/gtest.h>

namespace farrowtide {
namespace {

TEST(Starvation, EndsMilkAboutAWeekAfterTheLastFeed) {
  const Starvation starvation{Coefficients::built_in()};
  double smoothed_mcal = 6 * 3.3;
  int day = 0, first_low = 0;
  for (; starvation.milk_multiplier(smoothed_mcal, 5.7) > 0.1 && day < 60; ++day) {
    if (first_low == 0 && starvation.milk_multiplier(smoothed_mcal, 5.7) < 1) first_low = day;
    smoothed_mcal = starvation.smoothed_mcal(smoothed_mcal, 0);
  }
  EXPECT_GE(first_low, 3);
  EXPECT_LE(day, 10);
  EXPECT_EQ(starvation.milk_multiplier(3.3, 5.7), 1) << "a kilogram a day is enough";
}

TEST(Starvation, KillsOnlyWhenMuchProteinIsGone) {
  const Starvation starvation{Coefficients::built_in()};
  EXPECT_EQ(starvation.death_per_day(0.25, 0.25), 0);
  EXPECT_NEAR(starvation.death_per_day(0.45, 0.45), 0.3, 1e-12);
  EXPECT_FALSE(starvation.spent(0.49));
  EXPECT_TRUE(starvation.spent(0.5));
  EXPECT_GT(starvation.death_per_day(0.1, 0.5), 24) << "within the hour";
}

}  // namespace
}  // namespace farrowtide
