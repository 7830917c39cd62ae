#include "libsim/model/litter/birth_weight.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {
namespace {

const Coefficients coefficients = Coefficients::built_in();

TEST(BirthWeight, FallsWithLitterSizeAndInTheFirstParity) {
  const BirthWeight weight{coefficients};
  EXPECT_DOUBLE_EQ(weight.litter_mean_kg(13, 3, 0), 1.49);  // 1,005 litters, J Anim Sci abstract 250
  EXPECT_NEAR(weight.litter_mean_kg(16, 3, 0) - weight.litter_mean_kg(13, 3, 0), -0.105, 1e-12);
  EXPECT_NEAR(weight.litter_mean_kg(13, 1, 0), 1.39, 1e-12);
  EXPECT_NEAR(weight.litter_mean_kg(13, 3, 1), 1.64, 1e-12);
}

TEST(BirthWeight, IsTruncatedToWhatIsSeen) {
  const BirthWeight weight{coefficients};
  EXPECT_NEAR(weight(1.46, 0.29, -1), 1.17, 1e-12);
  EXPECT_EQ(weight(1.46, 0.29, -9), 0.45);
  EXPECT_EQ(weight(1.46, 0.29, 9), 2.5);
}

// By hand: 0.29 kg at 1.49 kg and 13 born; in proportion to the mean; exp(0.052 a piglet); 0.22 log between litters.
TEST(BirthWeight, SpreadsInProportionToTheMeanAndMoreInLargeLitters) {
  const BirthWeight weight{coefficients};
  const double average = weight.spread_kg(1.49, 13, 0.11);
  EXPECT_NEAR(average, 0.29, 1e-12) << "the draw at which the log-normal has its mean";
  EXPECT_NEAR(weight.spread_kg(0.745, 13, 0.11), average / 2, 1e-12);
  EXPECT_NEAR(weight.spread_kg(1.49, 18, 0.11) / average, std::exp(0.26), 1e-12);
  EXPECT_NEAR(weight.spread_kg(1.49, 13, 1.11) / average, std::exp(0.22), 1e-12);
}

TEST(BirthWeight, OfAHerdHasItsOwnMeanAndSpread) {
  const BirthWeight weight = BirthWeight{coefficients}.of(1.3, 0.2);
  EXPECT_NEAR(weight.litter_mean_kg(13, 3, 0), 1.3, 1e-12);
  EXPECT_NEAR(weight.spread_kg(1.3, 13, 0.11), 0.2, 1e-12);
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
  EXPECT_EQ(weight(1.46, 0.3, -1, 0), weight(1.46, 0.3, -1));
  EXPECT_NEAR(weight(1.46, 0.3, -1, 0.35), weight(1.46, 0.3, -1) - 0.35, 1e-12);
  EXPECT_EQ(weight(1.46, 0.3, -2.5, 0.35), 0.45) << "no piglet is lighter than the least seen";
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
