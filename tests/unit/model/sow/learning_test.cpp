#include "libsim/model/sow/learning.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace farrowtide {
namespace {

const Coefficients& built_in() {
  static const Coefficients coefficients = Coefficients::built_in();
  return coefficients;
}

TEST(Learning, LetsThePartOfTheCoefficientsKnowTheirWay) {
  const Learning learning{built_in().with_values(
      {{"sow.learning.knows_drinker_at_loading", 0.9}, {"sow.learning.knows_new_feeder_at_loading", 0.7}})};
  EXPECT_TRUE(learning.knows_drinker(0.899));
  EXPECT_FALSE(learning.knows_drinker(0.901));
  EXPECT_TRUE(learning.knows_feeder(0.699));
  EXPECT_FALSE(learning.knows_feeder(0.701));
}

// Common practice, no source: they are taught where to drink within 24 h of loading, since alone many take days.
TEST(Learning, IsDoneWithinADayOfTraining) {
  const Learning learning{built_in()};
  const auto learned_in_a_day = [&](Teaching teaching) { return 1 - std::exp(-learning.rate_per_day(teaching)); };
  EXPECT_GT(learned_in_a_day(Teaching::trained), 0.99);
  EXPECT_LT(learned_in_a_day(Teaching::none), 0.5);
  EXPECT_GT(learned_in_a_day(Teaching::none), 0);
}

TEST(Learning, LeavesSomeAccessUntilThen) {
  const Learning learning{built_in()};
  EXPECT_GT(learning.access_until_learned(), 0);
  EXPECT_LT(learning.access_until_learned(), 1);
}

}  // namespace
}  // namespace farrowtide
