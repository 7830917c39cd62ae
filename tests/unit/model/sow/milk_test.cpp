#include "libsim/model/sow/milk.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "libsim/kernel/errors.hpp"
#include "libsim/model/sow/energy_balance.hpp"

namespace farrowtide {
namespace {

const Coefficients& built_in() {
  static const Coefficients coefficients = Coefficients::built_in();
  return coefficients;
}

double handbook_sum(int length_d) {
  const LactationCurve curve{built_in(), length_d};
  double sum = 0;
  for (int day = 1; day <= length_d; ++day) sum += curve.handbook(day);
  return sum;
}

// Restated, from a separate script; that the published form has mean 1.00 at 21 d supports coefficients from memory.
TEST(LactationCurve, GivesTheHandbooksOracleValues) {
  const LactationCurve curve{built_in(), 21};
  EXPECT_NEAR(curve.handbook(1), .541717036, 1e-9);
  EXPECT_NEAR(curve.handbook(10), 1.048418198, 1e-9);
  EXPECT_NEAR(curve.handbook(19), 1.199873634, 1e-9);
  EXPECT_NEAR(handbook_sum(21), 21.000735691, 1e-9);
  EXPECT_NEAR(handbook_sum(28) / 28, .996690320, 1e-9);
}

TEST(LactationCurve, HasMeanOneAtEveryLength) {
  for (int length_d : {17, 19, 21, 28, 35}) {
    const LactationCurve curve{built_in(), length_d};
    double sum = 0;
    for (int day = 1; day <= length_d; ++day) sum += curve(day);
    EXPECT_NEAR(sum / length_d, 1, 1e-12) << length_d << " d";
  }
}

// Peak on day 17-20 and day 1 at 0.45 of it, +-.05 (restated: the shape of the published curve).
TEST(LactationCurve, PeaksInTheThirdWeek) {
  const LactationCurve curve{built_in(), 21};
  int peak = 1;
  for (int day = 1; day <= 21; ++day)
    if (curve(day) > curve(peak)) peak = day;
  EXPECT_GE(peak, 17);
  EXPECT_LE(peak, 20);
  EXPECT_NEAR(curve(1) / curve(peak), 0.45, 0.05);
}

TEST(LactationCurve, FollowsTheHandbookBeyondItsLength) {
  const LactationCurve curve{built_in(), 21};
  for (int day = 2; day <= 30; ++day)
    EXPECT_NEAR(curve(day) / curve(1), curve.handbook(day) / curve.handbook(1), 1e-12) << "day " << day;
}

TEST(LactationCurve, ReadsTheFarrowingDayAsDayOneAndRefusesOtherLengths) {
  const LactationCurve curve{built_in(), 21};
  EXPECT_EQ(curve(0), curve(1));
  EXPECT_THROW(LactationCurve(built_in(), 16), UserError);
  EXPECT_THROW(LactationCurve(built_in(), 36), UserError);
}

// Restated, from a separate script.
TEST(MilkPotential, GivesTheOracleValues) {
  const MilkPotential potential{built_in()};
  EXPECT_NEAR(potential.gain_g_per_piglet(13, 3), 240.9, 1e-9);
  EXPECT_NEAR(potential.mean_mcal_per_day(240.9, 13), 14.237964, 1e-9);
  EXPECT_NEAR(potential(13, 3, 1, 1, 1), 14.237964, 1e-9);
}

// Auldist et al. 1998, first parity: 283 to 202 g/d from 6 to 14 piglets, +-12 (fitted).
TEST(MilkPotential, FallsWithLitterSizeAsPublished) {
  const MilkPotential potential{built_in()};
  EXPECT_NEAR(potential.gain_g_per_piglet(6, 1), 283, 12);
  EXPECT_NEAR(potential.gain_g_per_piglet(14, 1), 202, 12);
}

TEST(MilkPotential, RisesWithPigletsAndNeedsThem) {
  const MilkPotential potential{built_in()};
  for (int piglets = 1; piglets <= 14; ++piglets)
    EXPECT_GT(potential(piglets, 3, 1, 1, 1), potential(piglets - 1, 3, 1, 1, 1)) << piglets;
  EXPECT_EQ(potential(0, 3, 1, 1, 1), 0);
  EXPECT_LT(potential(12, 1, 1, 1, 1), potential(12, 3, 1, 1, 1));
}

TEST(MilkPotential, SowEffectHasMeanOneOverSows) {
  const MilkPotential potential{built_in()};
  const double sd = built_in().number("sow.sow_effects.milk_sd", "log");
  double mean = 0, weight = 0;
  for (double z = -6; z < 6; z += 0.01) {
    mean += std::exp(-z * z / 2) * potential.sow_multiplier(sd * z);
    weight += std::exp(-z * z / 2);
  }
  EXPECT_NEAR(mean / weight, 1, 1e-6);
}

// Numbers by a separate script.
TEST(FeedOnMilk, GivesTheNumbersByHand) {
  const FeedOnMilk feed{built_in()};
  const double maintenance_mcal = Maintenance{built_in()}(240);
  EXPECT_NEAR(maintenance_mcal, 6.097592978, 1e-9);
  EXPECT_NEAR(feed.usual_mcal(240), 0.08 * 60.97592978, 1e-8);
  EXPECT_NEAR(feed.demand_mcal(maintenance_mcal, 12.5, 6 * 3.3), 3.342890902, 1e-9);
  const double short_mcal = feed.demand_mcal(maintenance_mcal, 12.5, 3 * 3.3);
  EXPECT_NEAR(short_mcal, 11.308408143, 1e-9);
  EXPECT_NEAR(feed(short_mcal, 240, 3), 0.913301647, 1e-9);
  EXPECT_NEAR(feed(short_mcal, 240, 1), 0.975123249, 1e-9);
}

// 0.1 to 0.15 kg of litter gain a day per kg of feed, of some 2.9, in later parities; less of it in first.
TEST(FeedOnMilk, RisesWithFeedAtEveryLevelAndLessInFirstParities) {
  const FeedOnMilk feed{built_in()};
  EXPECT_NEAR(feed(feed.usual_mcal(240), 240, 3), 1, 1e-12);
  for (double demand_mcal = -8; demand_mcal < 20; demand_mcal += 0.25)
    for (int parity : {1, 2, 3}) {
      EXPECT_GT(feed(demand_mcal, 240, parity), feed(demand_mcal + 0.25, 240, parity));
      EXPECT_GT(feed(demand_mcal, 240, parity), 0);
    }
  const double of_a_kg_of_feed_mcal = 3.3 * 0.7 / 0.87;
  for (double demand_mcal : {4.0, 7.0}) {
    const double gain_kg = 2.9 * (feed(demand_mcal, 240, 3) - feed(demand_mcal + of_a_kg_of_feed_mcal, 240, 3));
    EXPECT_GT(gain_kg, 0.1);
    EXPECT_LT(gain_kg, 0.15);
  }
  EXPECT_GT(feed(12, 240, 1), feed(12, 240, 2));
  EXPECT_GT(feed(12, 240, 2), feed(12, 240, 3));
}

TEST(FeedOnMilk, RemembersThreeDays) {
  const FeedOnMilk feed{built_in()};
  double smoothed = 0;
  for (int day = 0; day < 3; ++day) smoothed = feed.smoothed_mcal(smoothed, 6);
  EXPECT_NEAR(smoothed, 6 * (1 - std::exp(-1)), 1e-12);
}

TEST(MilkYield, GivesTheDayByHand) {
  const MilkYield yield{built_in()};
  const MilkParts parts = yield({.potential_mcal = 12.5,
                                 .body_weight_kg = 240,
                                 .smoothed_demand_mcal = 11.308408143102028,
                                 .milk_temperature_deg_c = 29});
  EXPECT_NEAR(parts.milk_mcal, 9.585485812, 1e-8);
  EXPECT_NEAR(parts.heat_factor, 0.839633727, 1e-9);
}

TEST(MilkYield, IsTheProductOfItsParts) {
  const MilkParts parts = MilkYield{built_in()}({.potential_mcal = 13,
                                                 .body_weight_kg = 180,
                                                 .parity = 1,
                                                 .smoothed_demand_mcal = 9,
                                                 .milk_temperature_deg_c = 27,
                                                 .protein_loss_share = 0.13,
                                                 .lysine_multiplier = 0.95,
                                                 .health_multiplier = 0.7,
                                                 .litter_start_multiplier = 0.9});
  EXPECT_NEAR(parts.milk_mcal, 13 * parts.heat_factor * parts.feed_factor * parts.protein_factor * 0.95 * 0.7 * 0.9,
              1e-12);
  EXPECT_LT(parts.heat_factor, 1);
  EXPECT_LT(parts.feed_factor, 1);
  EXPECT_LT(parts.protein_factor, 1);
}

// Prunier et al. 1997, pair-fed first parity, 30 against 20 degC: litter gain 1.60 against 1.95 kg/d, +-10 % (fitted);
// Quiniou & Noblet 1999: no fall of litter gain up to 25 degC.
TEST(HeatOnMilk, FallsAsInThePairFedTrial) {
  const HeatOnMilk heat{built_in()};
  EXPECT_NEAR(heat(30) / heat(20), 1.60 / 1.95, 0.1);
  EXPECT_GT(heat(22), 0.995);
  EXPECT_GT(heat(25), 0.97);
  for (double deg_c = 10; deg_c < 60; ++deg_c) EXPECT_LT(heat(deg_c + 1), heat(deg_c));
}

// Clowes et al. 2003, from memory: milk falls once 9-12 % of body protein is gone.
TEST(ProteinLimit, StartsAtATenthOfBodyProtein) {
  const ProteinLimit limit{built_in()};
  EXPECT_EQ(limit(0.10), 1);
  EXPECT_NEAR(limit(0.15), 0.85, 1e-12);
  EXPECT_EQ(limit(0.9), 0.5);
}

TEST(LitterStart, BadStartIsBackByDaySix) {
  const LitterStart start{built_in()};
  const double z_of_no_spread = 0.25 / 2;  // exp(sd z - sd^2/2) = 1
  EXPECT_NEAR(start(1, StartKind::bad, z_of_no_spread), 0.6, 1e-12);
  EXPECT_NEAR(start(3, StartKind::bad, z_of_no_spread), 0.6, 1e-12);
  EXPECT_GT(start(4, StartKind::bad, z_of_no_spread), 0.6);
  EXPECT_EQ(start(6, StartKind::bad, -3), 1);
  EXPECT_NEAR(start(2, StartKind::normal, z_of_no_spread), 1, 1e-12);
  EXPECT_LT(start(2, StartKind::normal, -1), 1);
}

TEST(LitterStart, IsBadInTheGivenShareOfLitters) {
  const LitterStart start{built_in()};
  EXPECT_EQ(start.kind(0.0799), StartKind::bad);
  EXPECT_EQ(start.kind(0.0801), StartKind::normal);
  EXPECT_EQ(start.starvation_hazard_ratio(7, StartKind::bad), 2);
  EXPECT_EQ(start.starvation_hazard_ratio(8, StartKind::bad), 1);
  EXPECT_EQ(start.starvation_hazard_ratio(3, StartKind::normal), 1);
}

}  // namespace
}  // namespace farrowtide
