#include "libsim/model/room/drinker.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace farrowtide {
namespace {

const Coefficients& built_in() {
  static const Coefficients coefficients = Coefficients::built_in();
  return coefficients;
}

// Moments of a lognormal in closed form, by the midpoint rule over a standard normal.
TEST(DrinkerRules, FlowKeepsItsMeanAndItsSpread) {
  const DrinkerRules rules{built_in()};
  for (double cv : {0.1, 0.25, 0.4}) {
    double weight = 0, mean = 0, square = 0;
    for (double z = -8; z < 8; z += 0.005) {
      const double density = std::exp(-z * z / 2), flow = rules.flow_l_per_min(2.4, cv, z);
      weight += density;
      mean += density * flow;
      square += density * flow * flow;
    }
    mean /= weight;
    EXPECT_NEAR(mean, 2.4, 1e-6) << cv;
    EXPECT_NEAR(std::sqrt(square / weight - mean * mean) / mean, cv, 1e-6);
    EXPECT_NEAR(rules.flow_l_per_min(2.4, cv, 0), 2.4 / std::sqrt(1 + cv * cv), 1e-12);
  }
}

TEST(DrinkerRules, FlowIsTheSameEverywhereWithoutSpread) {
  const DrinkerRules rules{built_in()};
  EXPECT_EQ(rules.flow_l_per_min(2, 0, -3), 2);
  EXPECT_EQ(rules.flow_l_per_min(2, 0, 3), 2);
}

// Assumed, no source: in a room of 24 crates one or two drinkers clog in a stay of 28 days, one in four of them wholly.
TEST(DrinkerRules, ClogsOneOrTwoDrinkersOfARoomInAStay) {
  const DrinkerRules rules{built_in()};
  const double partial = rules.partial_blockage_per_day(), full = rules.full_blockage_per_day();
  EXPECT_NEAR((partial + full) * 24 * 28, 1.5, 0.5);
  EXPECT_NEAR(full / (partial + full), 0.25, 1e-12);
  EXPECT_GT(rules.partial_blockage_flow_share(), 0);
  EXPECT_LT(rules.partial_blockage_flow_share(), 1);
}

}  // namespace
}  // namespace farrowtide
