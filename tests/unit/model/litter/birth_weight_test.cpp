#include "libsim/model/litter/birth_weight.hpp"

#include <gtest/gtest.h>

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {
namespace {

const Coefficients coefficients = Coefficients::built_in();

TEST(BirthWeight, FallsWithLitterSizeAndInTheFirstParity) {
  const BirthWeight weight{coefficients};
  EXPECT_DOUBLE_EQ(weight.litter_mean_kg(13, 3, 0), 1.46);  // Jourquin et al. 2016
  EXPECT_NEAR(weight.litter_mean_kg(16, 3, 0) - weight.litter_mean_kg(13, 3, 0), -0.09, 1e-12);
  EXPECT_NEAR(weight.litter_mean_kg(13, 1, 0), 1.36, 1e-12);
  EXPECT_NEAR(weight.litter_mean_kg(13, 3, 1), 1.61, 1e-12);
}

TEST(BirthWeight, IsTruncatedToWhatIsSeen) {
  const BirthWeight weight{coefficients};
  EXPECT_NEAR(weight(1.46, -1), 1.185, 1e-12);
  EXPECT_EQ(weight(1.46, -9), 0.45);
  EXPECT_EQ(weight(1.46, 9), 2.5);
}

TEST(Runts, AreFewAndCommonerInLargeLitters) {
  const Runts runts{coefficients};
  EXPECT_EQ(runts.deficit_kg(14, 0.049), 0.35);
  EXPECT_EQ(runts.deficit_kg(14, 0.051), 0);
  EXPECT_EQ(runts.deficit_kg(17, 0.099), 0.35);
  EXPECT_EQ(runts.deficit_kg(17, 0.101), 0);
}

TEST(Runts, LackTheirDeficitAndLeaveTheOthersAsTheyAre) {
  const BirthWeight weight{coefficients};
  EXPECT_EQ(weight(1.46, -1, 0), weight(1.46, -1));
  EXPECT_NEAR(weight(1.46, -1, 0.35), weight(1.46, -1) - 0.35, 1e-12);
  EXPECT_EQ(weight(1.46, -2.5, 0.35), 0.45) << "no piglet is lighter than the least seen";
}

TEST(NewbornTraits, ReadEachUniformOnce) {
  const NewbornTraits traits{coefficients};
  EXPECT_EQ(traits.sex(0.49), Sex::male);
  EXPECT_EQ(traits.sex(0.51), Sex::female);
  EXPECT_TRUE(traits.is_splay_legged(0.0149));
  EXPECT_FALSE(traits.is_splay_legged(0.0151));
}

}  // namespace
}  // namespace farrowtide
