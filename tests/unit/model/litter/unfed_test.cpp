#include "libsim/model/litter/unfed.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {
namespace {

TEST(UnfedLitter, TouchesOnlyLittersBelowTheirMaintenance) {
  const UnfedLitter unfed{Coefficients::built_in()};
  const double need_mcal = 12 * unfed.need_mcal(2);  // Verstegen et al. 1985: 0.097 Mcal/kg^0.75
  EXPECT_NEAR(need_mcal, 12 * 0.097 * std::pow(2, 0.75), 1e-9);
  EXPECT_EQ(unfed.unfed_share(need_mcal, need_mcal), 0);
  EXPECT_EQ(unfed.unfed_share(5, need_mcal), 0) << "a poor start";
  EXPECT_EQ(unfed.unfed_share(0, need_mcal), 1);
  EXPECT_EQ(unfed.unfed_share(0, 0), 0) << "no piglets";
}

TEST(UnfedLitter, NeedsMostWhereItsPigletsAreEqual) {
  const UnfedLitter unfed{Coefficients::built_in()};
  EXPECT_LT(unfed.need_mcal(1) + unfed.need_mcal(3), unfed.most_need_mcal(4, 2));
  EXPECT_NEAR(unfed.most_need_mcal(24, 12), 12 * unfed.need_mcal(2), 1e-12);
}

// With an exponent above 1 unequal piglets need more than equal ones, and nothing bounds their need.
TEST(UnfedLitter, NeverNeedsMoreThanTheMostWhateverTheExponent) {
  for (const double exponent : {0.6, 0.75, 1.0, 1.2}) {
    const UnfedLitter unfed{Coefficients::built_in().with_value("sow.energy_balance.metabolic_exponent", exponent)};
    EXPECT_LE(unfed.need_mcal(1) + unfed.need_mcal(3), unfed.most_need_mcal(4, 2)) << exponent;
  }
}

TEST(UnfedLitter, KillsNewbornsSoonest) {
  const UnfedLitter unfed{Coefficients::built_in()};
  EXPECT_GT(unfed.death_per_day(0), unfed.death_per_day(7));
  EXPECT_GT(unfed.death_per_day(7), unfed.death_per_day(20));
  EXPECT_GT(unfed.weight_loss_kg(4), unfed.weight_loss_kg(2));
}

}  // namespace
}  // namespace farrowtide
