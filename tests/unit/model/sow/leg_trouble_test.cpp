#include "libsim/model/sow/leg_trouble.hpp"

#include <gtest/gtest.h>

namespace farrowtide {
namespace {

TEST(LegTrouble, HasItsPrevalence) {
  const LegTrouble trouble{Coefficients::built_in().with_value("sow.legs.prevalence", 0.1)};
  EXPECT_TRUE(trouble.has_it(0.099));
  EXPECT_FALSE(trouble.has_it(0.101));
  EXPECT_FALSE(LegTrouble{Coefficients::built_in()}.has_it(0.12));  // the most of its range
}

// Sows with trouble eat 5 to 15 % less, from memory (restated).
TEST(LegTrouble, CostsSomeAppetite) {
  const double multiplier = LegTrouble{Coefficients::built_in()}.appetite_multiplier();
  EXPECT_GE(multiplier, 0.85);
  EXPECT_LE(multiplier, 0.95);
}

// A hazard of 0.1 a day (assumed): half of the treated have recovered after ln 2 / 0.1 d; at 0 none ever does.
TEST(LegTrouble, RecoversOnceTreated) {
  EXPECT_NEAR(LegTrouble{Coefficients::built_in()}.recovers_after_d(0.693147), 6.93147, 1e-5);
  const LegTrouble lasting{Coefficients::built_in().with_value("sow.legs.recovery_treated", 0)};
  EXPECT_GT(lasting.recovers_after_d(0.01), 1e9);
}

}  // namespace
}  // namespace farrowtide
