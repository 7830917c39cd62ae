#include "libsim/model/litter/growth.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <numeric>
#include <vector>

#include "libsim/kernel/errors.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {
namespace {

const Coefficients coefficients = Coefficients::built_in();
// Each limit has a test of its own.
const Coefficients of_any_teat = coefficients.with_value("litter.growth.teat_most_gain", 10);
const GainSharing limited_by_size{of_any_teat};
const GainSharing sharing{of_any_teat.with_value("litter.growth.most_gain", 10)};

struct Outcome {
  std::vector<double> gain_kg;
  double unused_kg;
};

Outcome share(double litter_gain_kg, const std::vector<GainClaim>& claims, const GainSharing& rule = sharing) {
  Outcome outcome{std::vector<double>(claims.size()), 0};
  outcome.unused_kg = rule(litter_gain_kg, claims, outcome.gain_kg);
  return outcome;
}

double sum(const Outcome& o) { return std::accumulate(o.gain_kg.begin(), o.gain_kg.end(), o.unused_kg); }

// Milk of 14.493804 and 8.933199032 Mcal/d for 13 piglets, from an independent implementation.
TEST(LitterGain, AgreesWithTheReferenceValues) {
  const LitterGain gain{coefficients};
  EXPECT_NEAR(gain(14.493804, 13), 3.183700, 5e-7);
  EXPECT_NEAR(gain(8.933199032, 13), 2.053495738, 5e-10);
  EXPECT_EQ(gain(-100, 13), 0);
}

TEST(GainSharing, FollowsWeightAndTeat) {
  const auto [gain_kg, unused_kg] =
      share(1, {{.weight_kg = 2}, {.weight_kg = 4}, {.weight_kg = 4, .teat_effect = 0.1}});
  EXPECT_NEAR(gain_kg[1] / gain_kg[0], std::pow(2, 0.62), 1e-12);
  EXPECT_NEAR(gain_kg[2] / gain_kg[1], std::exp(0.1), 1e-12);
  EXPECT_EQ(unused_kg, 0);
  EXPECT_NEAR(sharing.teat_effect(1), 0.205, 1e-12);
}

TEST(GainSharing, NeitherMakesNorLosesGain) {
  for (const double litter_gain_kg : {0.0, 0.8, 2.5, 4.0, 9.0}) {
    std::vector<GainClaim> claims;
    for (int i = 0; i < 14; ++i) {
      claims.push_back({.weight_kg = 1.0 + 0.2 * i, .teat_effect = 0.1 * (i % 5 - 2), .hindrance = i % 4 ? 1.0 : 0.7});
    }
    const Outcome outcome = share(litter_gain_kg, claims);
    EXPECT_NEAR(sum(outcome), litter_gain_kg, 1e-12);
    for (const double gain : outcome.gain_kg) EXPECT_GE(gain, 0);
    EXPECT_GE(outcome.unused_kg, 0);
  }
}

// By hand: of the 0.0504 kg that it leaves, half stays in its teat.
TEST(GainSharing, LeavesAHinderedPigletItsPartAndItsMatesHalfOfTheRest) {
  std::vector<GainClaim> claims(10, {.weight_kg = 3});
  claims[0].hindrance = 0.79;  // moved at a week of age: Horrell & Bennett 1981
  const auto [gain_kg, unused_kg] = share(2.4, claims);
  EXPECT_NEAR(gain_kg[0], 0.79 * 0.24, 1e-12);
  EXPECT_NEAR(gain_kg[1], 0.24 + 0.5 * 0.0504 / 9, 1e-12);
  EXPECT_NEAR(unused_kg, 0.5 * 0.0504, 1e-12);
}

TEST(GainSharing, LeavesMilkInTheUdderWhenAllAreHindered) {
  const auto [gain_kg, unused_kg] = share(2.4, std::vector<GainClaim>(10, {.weight_kg = 3, .hindrance = 0.79}));
  EXPECT_NEAR(gain_kg[4], 0.79 * 0.24, 1e-12);
  EXPECT_NEAR(unused_kg, 0.21 * 2.4, 1e-12);
}

// On milk ad libitum piglets grew 576 g/d from 10 to 30 d (Hodge 1974), to 9.5 kg at 21 d (Harrell 1993): no sow rears
// one that grows faster, however much milk she has.
TEST(GainSharing, StopsAtWhatAPigletOfItsSizeCanGain) {
  double weight_kg = 1.5;
  for (int day = 0; day < 21; ++day) weight_kg += share(3, {{.weight_kg = weight_kg}}, limited_by_size).gain_kg[0];
  EXPECT_NEAR(weight_kg, 9.5, 0.3);
  const auto [gain_kg, unused_kg] = share(10, std::vector<GainClaim>(10, {.weight_kg = 1.5}), limited_by_size);
  EXPECT_LT(gain_kg[0], 0.227) << "litter means of up to 227 g/d on d0-3, of heavier piglets (Thompson & Fraser 1988)";
  EXPECT_NEAR(unused_kg, 10 - 10 * gain_kg[0], 1e-12);
}

// By hand: a piglet of 9 kg among four of 1 kg has 9^0.62 parts of 4 + 9^0.62, of which it can use 0.156 * 9^0.6 kg;
// half of the rest goes to its mates.
TEST(GainSharing, PassesOnHalfOfWhatASatisfiedPigletLeaves) {
  std::vector<GainClaim> claims(5, {.weight_kg = 1});
  claims[2].weight_kg = 9;
  const auto [gain_kg, unused_kg] = share(1.2, claims, limited_by_size);
  const double parts = std::pow(9, 0.62);
  const double most_kg = 0.156 * std::pow(9, 0.6);
  const double left_kg = 1.2 * parts / (4 + parts) - most_kg;
  EXPECT_NEAR(gain_kg[2], most_kg, 1e-12);
  EXPECT_NEAR(gain_kg[0], 1.2 / (4 + parts) + 0.5 * left_kg / 4, 1e-12);
  EXPECT_NEAR(unused_kg, 0.5 * left_kg, 1e-12);
}

TEST(GainSharing, StopsAtWhatATeatYields) {
  const auto [gain_kg, unused_kg] = share(3, std::vector<GainClaim>(3, {.weight_kg = 9}), GainSharing{coefficients});
  for (const double gain : gain_kg) EXPECT_NEAR(gain, 0.38, 1e-12);
  EXPECT_NEAR(unused_kg, 3 - 3 * 0.38, 1e-12);
}

TEST(GainSharing, RefusesGainsThatDoNotMatchTheClaims) {
  std::array<GainClaim, 2> claims{{{.weight_kg = 2}, {.weight_kg = 3}}};
  std::array<double, 3> gain_kg{};
  EXPECT_THROW(sharing(1, claims, gain_kg), InternalError);
  EXPECT_EQ(sharing(1, {}, {}), 1);
}

TEST(LitterGain, TakesTheMilkThatItIsMadeOf) {
  const LitterGain gain{coefficients};
  EXPECT_NEAR(gain.milk_mcal(gain(14.493804, 13), 13), 14.493804, 1e-9);
  EXPECT_EQ(gain.milk_mcal(0, 13), 0) << "no milk less than none";
}

}  // namespace
}  // namespace farrowtide
