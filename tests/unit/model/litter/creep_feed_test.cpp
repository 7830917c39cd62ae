#include "libsim/model/litter/creep_feed.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {
namespace {

const CreepFeed creep{Coefficients::built_in()};

TEST(CreepFeed, GrowsFromWeekToWeekAndBeginsAtAWeek) {
  EXPECT_EQ(creep.intake_g_per_day(6, 2), 0);
  EXPECT_EQ(creep.intake_g_per_day(7, 0), 2);
  EXPECT_EQ(creep.intake_g_per_day(15, 0), 8);
  EXPECT_EQ(creep.intake_g_per_day(22, 0), 25);
  EXPECT_EQ(creep.intake_g_per_day(30, 0), 25);
  EXPECT_NEAR(creep.intake_g_per_day(22, 1) / creep.intake_g_per_day(22, -1), std::exp(2), 1e-12);
}

TEST(CreepFeed, IsNotEatenByAQuarterOfPiglets) {
  EXPECT_FALSE(creep.is_eater(0.249));  // Sulabo 2010: 70-80 % eat. Restated.
  EXPECT_TRUE(creep.is_eater(0.251));
}

// Sulabo 2010: 228 g a piglet over d7-26, eaters and others, +-20 %; the mean of a lognormal of log SD 1 is exp(0.5)
// times its median. Fitted: the weekly intakes were set to it.
TEST(CreepFeed, EatsThePublishedTotal) {
  double median_g = 0;
  for (int day = 7; day <= 26; ++day) median_g += creep.intake_g_per_day(day, 0);
  EXPECT_NEAR(0.75 * median_g * std::exp(0.5), 228, 0.2 * 228);
}

// Sulabo 2010: creep feed did not change weaning weight at 20 d (5.67 kg). Independent.
TEST(CreepFeed, HardlyChangesTheWeightAtThreeWeeks) {
  double gain_kg = 0;
  for (int day = 7; day <= 20; ++day) gain_kg += creep.gain_kg(0.75 * std::exp(0.5) * creep.intake_g_per_day(day, 0));
  EXPECT_GT(gain_kg, 0);
  EXPECT_LT(gain_kg / 5.67, 0.015);
}

}  // namespace
}  // namespace farrowtide
