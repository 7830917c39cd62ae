#include "libsim/model/sow/handling.hpp"

#include <gtest/gtest.h>

namespace farrowtide {
namespace {

const Coefficients& built_in() {
  static const Coefficients coefficients = Coefficients::built_in();
  return coefficients;
}

// Common practice, no source: a disturbance of the litter costs intake for the next 12-24 h.
TEST(HandlingEffect, LastsHalfADayToADay) {
  const HandlingEffect handling{built_in()};
  EXPECT_EQ(handling.duration_h(0), 12);
  EXPECT_EQ(handling.duration_h(0.5), 18);
  EXPECT_EQ(handling.duration_h(1), 24);
  EXPECT_GT(handling.drop(), 0);
  EXPECT_LT(handling.drop(), 1);
}

TEST(HandlingEffect, CanBeSwitchedOffByItsCoefficient) {
  EXPECT_EQ(HandlingEffect{built_in().with_value("sow.appetite.handling.drop", 0)}.drop(), 0);
}

TEST(HandlingEffect, OfTwoEventsAddsPartly) {
  const HandlingEffect handling{built_in()};
  EXPECT_EQ(handling.together(0, 0.1), 0.1);
  EXPECT_GT(handling.together(0.1, 0.1), 0.1);
  EXPECT_LT(handling.together(0.1, 0.1), 0.19);
  EXPECT_EQ(handling.together(0.1, 0.15), handling.together(0.15, 0.1));
  EXPECT_LE(handling.together(1, 1), 1);
  const HandlingEffect larger{built_in().with_value("sow.appetite.handling.second_event_share", 0)};
  EXPECT_EQ(larger.together(0.1, 0.15), 0.15);
}

// Assumed, no source: from day 7 processing costs half as much again and 5 % of gain for three days.
TEST(HandlingEffect, CostsMoreWhenProcessingIsLate) {
  const HandlingEffect handling{built_in()};
  EXPECT_FALSE(handling.is_late_processing(6));
  EXPECT_TRUE(handling.is_late_processing(7));
  EXPECT_EQ(handling.processing_drop_multiplier(6), 1);
  EXPECT_GT(handling.processing_drop_multiplier(7), 1);
  EXPECT_LT(handling.drop() * handling.processing_drop_multiplier(7), 1);
  EXPECT_LT(handling.late_processing_gain_multiplier(), 1);
  EXPECT_GT(handling.late_processing_lasts_d(), 0);
}

}  // namespace
}  // namespace farrowtide
