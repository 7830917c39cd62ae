#include "libsim/model/sow/signs.hpp"

#include <gtest/gtest.h>

#include "libsim/kernel/errors.hpp"

namespace farrowtide {
namespace {

const Coefficients& built_in() {
  static const Coefficients coefficients = Coefficients::built_in();
  return coefficients;
}

constexpr Sign looked_for[] = {Sign::nursing, Sign::not_eaten, Sign::udder, Sign::legs};

// Each sign reads its own two coefficients.
TEST(Signs, HaveTheirOwnSensitivityAndSpecificity) {
  const Signs signs{built_in()};
  const std::string names[] = {"nursing", "not_eaten_or_drunk", "udder", "legs"};
  for (int i = 0; i < 4; ++i) {
    const std::string path = "sow.signs." + names[i];
    EXPECT_EQ(signs.probability(looked_for[i], Condition::present), built_in().number(path + "_sensitivity", "-"));
    EXPECT_NEAR(signs.probability(looked_for[i], Condition::absent), 1 - built_in().number(path + "_specificity", "-"),
                1e-15);
  }
}

// Of 202 sows, those with a disorder had altered piglet behaviour in 68 % at one look; the model's look is of one
// posture and hour and is assumed to see less (independent).
TEST(Signs, SeeAnIllSowMoreOftenThanAHealthyOne) {
  const Signs signs{built_in()};
  for (const Sign sign : looked_for)
    EXPECT_GT(signs.probability(sign, Condition::present), 2 * signs.probability(sign, Condition::absent));
  EXPECT_LT(signs.probability(Sign::nursing, Condition::present), 0.68);
}

// With the same uniform an ill sow shows whatever a healthy one shows: illness never hides a sign.
TEST(Signs, AreNestedForTheSameDraw) {
  const Signs signs{built_in()};
  for (const Sign sign : looked_for) {
    double seen_ill = 0, seen_healthy = 0;
    constexpr int draws = 10'000;
    for (int i = 0; i < draws; ++i) {
      const double uniform = (i + 0.5) / draws;
      const bool ill = signs.seen(sign, Condition::present, uniform),
                 healthy = signs.seen(sign, Condition::absent, uniform);
      EXPECT_TRUE(ill || !healthy);
      seen_ill += ill;
      seen_healthy += healthy;
    }
    EXPECT_NEAR(seen_ill / draws, signs.probability(sign, Condition::present), 1e-3);
    EXPECT_NEAR(seen_healthy / draws, signs.probability(sign, Condition::absent), 1e-3);
  }
}

TEST(Signs, TemperatureIsMeasuredAndNotLookedFor) {
  EXPECT_THROW(Signs{built_in()}.seen(Sign::temperature, Condition::present, 0.5), InternalError);
}

}  // namespace
}  // namespace farrowtide
