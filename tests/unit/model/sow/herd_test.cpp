#include "libsim/model/sow/herd.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "libsim/kernel/errors.hpp"

namespace farrowtide {
namespace {

const Coefficients& built_in() {
  static const Coefficients coefficients = Coefficients::built_in();
  return coefficients;
}

std::array<double, 4> as_array(const SowEffects& effects) {
  return {effects.appetite_log, effects.milk_log, effects.farrowing_duration_log, effects.health_logit};
}

// The draw is linear in z, so its covariance is the sum over unit vectors of the outer products: no sampling needed.
std::array<std::array<double, 4>, 4> covariance(const SowEffectDraw& draw) {
  std::array<std::array<double, 4>, 4> sum{};
  for (int k = 0; k < 4; ++k) {
    std::array<double, 4> unit{};
    unit[k] = 1;
    const auto column = as_array(draw(unit));
    for (int i = 0; i < 4; ++i)
      for (int j = 0; j < 4; ++j) sum[i][j] += column[i] * column[j];
  }
  return sum;
}

TEST(SowEffectDraw, HasTheGivenCovariance) {
  const auto sum =
      covariance(SowEffectDraw{built_in().with_values({{"sow.sow_effects.correlation_appetite_milk", 0.3},
                                                       {"sow.sow_effects.correlation_milk_health", -0.25},
                                                       {"sow.sow_effects.correlation_duration_health", 0.2}})});
  const double sd[] = {0.19, 0.16, 0.31, 0.6};
  const double correlation[4][4] = {{1, 0.3, 0, 0}, {0.3, 1, 0, -0.25}, {0, 0, 1, 0.2}, {0, -0.25, 0.2, 1}};
  for (int i = 0; i < 4; ++i)
    for (int j = 0; j < 4; ++j) EXPECT_NEAR(sum[i][j], sd[i] * sd[j] * correlation[i][j], 1e-12) << i << j;
}

TEST(SowEffectDraw, RefusesCorrelationsThatCannotHoldTogether) {
  const Coefficients impossible = built_in().with_values({{"sow.sow_effects.correlation_appetite_milk", 0.9},
                                                          {"sow.sow_effects.correlation_appetite_health", 0.9},
                                                          {"sow.sow_effects.correlation_milk_health", -0.9}});
  EXPECT_THROW(SowEffectDraw{impossible}, UserError);
  EXPECT_THROW(SowEffectDraw{built_in().with_value("sow.sow_effects.correlation_appetite_milk", 1.0)}, UserError);
}

TEST(HerdDistributions, DrawsTheParityShares) {
  const HerdDistributions herd{built_in()};
  std::vector<double> drawn(9);
  constexpr int n = 100'000;
  for (int i = 0; i < n; ++i) drawn.at(herd.parity((i + 0.5) / n)) += 1.0 / n;
  const double shares[] = {0, .226, .186, .152, .125, .102, .084, .069, .056};
  for (int parity = 1; parity <= 8; ++parity) EXPECT_NEAR(drawn[parity], shares[parity], 1e-4) << parity;
  EXPECT_EQ(herd.parity(0.9999999999), 8);
}

// 18 % removal per parity and none kept after parity 8 (Koketsu 2018) gives these shares, +-2 points: 0.82^(p - 1),
// normalised (restated).
TEST(HerdDistributions, SharesAreTheSteadyStateOfRemoval) {
  const auto& shares = built_in().table("sow.herd.parity_share", "-");
  const double total = (1 - std::pow(0.82, 8)) / 0.18;
  for (int i = 0; i < 8; ++i) EXPECT_NEAR(shares[i], std::pow(0.82, i) / total, 0.02);
}

TEST(HerdDistributions, TakesTheFarmsOwnShares) {
  const HerdDistributions young = HerdDistributions{built_in()}.with_parity_shares({3, 1});
  EXPECT_EQ(young.parity(0.7499), 1);
  EXPECT_EQ(young.parity(0.7501), 2);
  EXPECT_EQ(young.parity(0.9999), 2);
  EXPECT_THROW(young.with_parity_shares({}), UserError);
  EXPECT_THROW(young.with_parity_shares({0, 0}), UserError);
  EXPECT_THROW(young.with_parity_shares({1, -0.1}), UserError);
  EXPECT_EQ(young.with_parity_shares({0, 0, 1}).parity(1e-9), 3);
}

TEST(HerdDistributions, GrowsWithParity) {
  const HerdDistributions herd{built_in()};
  EXPECT_NEAR(herd.weight_after_farrowing_kg(1, 0), 185, 1e-12);
  EXPECT_NEAR(herd.weight_after_farrowing_kg(1, 1), 185 * 1.09, 1e-12);
  EXPECT_EQ(herd.weight_after_farrowing_kg(6, 0), herd.weight_after_farrowing_kg(8, 0));
  EXPECT_NEAR(herd.weight_carried_kg(14), 25.2, 1e-12);
  EXPECT_THROW(herd.weight_after_farrowing_kg(0, 0), InternalError);
}

TEST(HerdDistributions, ClipsBackfatLitterAndTeats) {
  const HerdDistributions herd{built_in()};
  EXPECT_NEAR(herd.backfat_p2_mm(0), 16, 1e-12);
  EXPECT_EQ(herd.backfat_p2_mm(-9), 8);
  EXPECT_EQ(herd.backfat_p2_mm(9), 28);
  EXPECT_EQ(herd.total_born(3, 0), std::lround(14.6 * 1.03));
  EXPECT_EQ(herd.total_born(1, -9), 1);
  EXPECT_EQ(herd.total_born(4, 9), 30);
  EXPECT_EQ(herd.functional_teats(3, 0), 15);
  EXPECT_EQ(herd.functional_teats(8, 0), std::lround(14.6 - 4 * 0.3));
  EXPECT_EQ(herd.functional_teats(4, 0), herd.functional_teats(1, 0));
  EXPECT_EQ(herd.functional_teats(1, 9), 18);
  EXPECT_EQ(herd.functional_teats(1, -9), 10);
}

TEST(ConstipationScore, FallsWithFibreWithinItsScale) {
  const ConstipationScore score{built_in()};
  EXPECT_EQ(score(0, FibreInDiet::usual), 2);
  EXPECT_NEAR(score(0, FibreInDiet::added), 1.3, 1e-12);
  EXPECT_EQ(score(-9, FibreInDiet::usual), 0);
  EXPECT_EQ(score(9, FibreInDiet::usual), 5);
  EXPECT_TRUE(score.is_constipated(3.5));
  EXPECT_FALSE(score.is_constipated(3.49));
}

}  // namespace
}  // namespace farrowtide
