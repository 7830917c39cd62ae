#include "libsim/model/sow/post_partum_disorder.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "libsim/kernel/random.hpp"

namespace farrowtide {
namespace {

const Coefficients& built_in() {
  static const Coefficients coefficients = Coefficients::built_in();
  return coefficients;
}

double normal_share_below(double z) { return std::erfc(-z / std::sqrt(2.0)) / 2; }

// Restated, from a separate script: 360 min, assisted, 2 stillborn, the rest at nothing.
TEST(DisorderRisk, GivesTheOracleValue) {
  const DisorderRisk risk{built_in()};
  const DisorderInputs sow{.farrowing_duration_min = 360, .assisted = true, .stillborn = 2};
  EXPECT_NEAR(risk.logit(sow), -1.35, 1e-12);
  EXPECT_NEAR(risk.probability(sow), 0.2058703718, 1e-10);
}

double odds_ratio(auto change) {
  const DisorderRisk risk{built_in()};
  DisorderInputs sow;
  const double before = risk.logit(sow);
  change(sow);
  return std::exp(risk.logit(sow) - before);
}

// Slopes are shrunk from their studies: each raises the risk, none by more than was published (restated). Göransson
// 1989: 26.6 against 14.4 % by late-gestation feed, odds ratio 2.15. From 14.4 % the model reaches 19.3 %, 6 points
// allowed: a miss that stands, because a trial of 78 sows saw nothing. Papadopoulos et al. 2010: herd odds ratio 6.27
// if moved within 4 d.
TEST(DisorderRisk, RisesWithFeedAndLateMovesByLessThanPublished) {
  const double feed = odds_ratio([](DisorderInputs& sow) { sow.pre_farrow_feed_kg_per_day = 3.4; });
  EXPECT_GT(feed, 1);
  EXPECT_LT(feed, 2.15);
  const double moved = odds_ratio([](DisorderInputs& sow) { sow.days_in_room = 4; });
  EXPECT_GT(moved, 1);
  EXPECT_LT(moved, 6.27);
  EXPECT_NEAR(feed, std::exp(0.7), 1e-12);
  EXPECT_EQ(odds_ratio([](DisorderInputs& sow) { sow.pre_farrow_feed_kg_per_day = 2.7; }), 1) << "the usual allowance";
  EXPECT_EQ(odds_ratio([](DisorderInputs& sow) { sow.days_in_room = 4.1; }), 1);
}

TEST(DisorderRisk, MuchFeedBeforeFarrowingHarmsFatSowsOnly) {
  const DisorderRisk risk{built_in()};
  const auto rise = [&](double backfat_mm) {
    return risk.logit({.pre_farrow_feed_kg_per_day = 5, .backfat_mm = backfat_mm}) -
           risk.logit({.pre_farrow_feed_kg_per_day = 2.5, .backfat_mm = backfat_mm});
  };
  EXPECT_EQ(rise(13), 0);
  EXPECT_NEAR(rise(22), 2 * rise(18), 1e-12);
}

// Signs: Tummaruk & Sang-Gassanee 2013 (duration: 1.1 per h in 64 sows); Nam 2023 (extraction, stillborn).
TEST(DisorderRisk, RisesWithEveryTrouble) {
  const double hour = odds_ratio([](DisorderInputs& sow) { sow.farrowing_duration_min += 60; });
  EXPECT_GT(hour, 1);
  EXPECT_LT(hour, std::exp(1.1));
  EXPECT_GT(odds_ratio([](DisorderInputs& sow) { sow.assisted = true; }), 1);
  EXPECT_GT(odds_ratio([](DisorderInputs& sow) { ++sow.stillborn; }), 1);
  EXPECT_GT(odds_ratio([](DisorderInputs& sow) { sow.placenta_late = true; }), 1);
  EXPECT_GT(odds_ratio([](DisorderInputs& sow) { sow.backfat_mm = 24; }), 1);
  EXPECT_EQ(odds_ratio([](DisorderInputs& sow) { sow.backfat_mm = 12; }), 1);
  EXPECT_GT(odds_ratio([](DisorderInputs& sow) { sow.room_deg_c = 28; }), 1);
  EXPECT_GT(odds_ratio([](DisorderInputs& sow) { sow.constipated = true; }), 1);
  EXPECT_NEAR(odds_ratio([](DisorderInputs& sow) { sow.sow_logit = 0.6; }), std::exp(0.6), 1e-12);
  EXPECT_NEAR(odds_ratio([](DisorderInputs& sow) { sow.herd_logit = -0.3; }), std::exp(-0.3), 1e-12);
}

// Published onset: 12-48 h after farrowing, some to 72 h.
TEST(DisorderCourse, SetsInWithinThreeDays) {
  const DisorderCourse course{built_in()};
  const double median_log = std::log(course.onset_h(0)), sd = std::log(course.onset_h(1)) - median_log;
  const auto share_by = [&](double hours) { return normal_share_below((std::log(hours) - median_log) / sd); };
  EXPECT_GT(share_by(48) - share_by(12), 0.75);
  EXPECT_GT(share_by(72), 0.98);
}

// Tummaruk & Sang-Gassanee 2013: febrile 61.3 to 22.6 % in the two days after treatment, +-10 points (fitted).
TEST(DisorderCourse, TreatmentShortensItAndLateTreatmentLess) {
  const DisorderCourse course{built_in()};
  EXPECT_NEAR(0.613 * std::exp(-2 * course.recovery_per_day(Treatment::early)), 0.226, 0.10);
  EXPECT_GT(course.recovery_per_day(Treatment::early), course.recovery_per_day(Treatment::late));
  EXPECT_GT(course.recovery_per_day(Treatment::late), course.recovery_per_day(Treatment::none));
  EXPECT_GT(course.recovery_per_day(Treatment::none), 0);
  EXPECT_GT(course.late_after_h(), 0);
}

// From memory: milk -20 to -40 % (restated).
TEST(WhileIll, EatsDrinksAndMilksLess) {
  const WhileIll ill{built_in()};
  for (const double multiplier : {ill.appetite_multiplier(1), ill.water_multiplier(), ill.milk_multiplier()}) {
    EXPECT_GT(multiplier, 0);
    EXPECT_LT(multiplier, 1);
  }
  EXPECT_GE(ill.milk_multiplier(), 0.6);
  EXPECT_LE(ill.milk_multiplier(), 0.8);
}

TEST(IllnessSeverity, HasMeanOneAndIsNeverNothing) {
  const IllnessSeverity severity{built_in()};
  double sum = 0;
  constexpr int sows = 100'000;
  for (std::uint32_t sow = 0; sow < sows; ++sow)
    sum += severity(normal({.seed = 5, .replicate = 0, .entity = sow, .purpose = 1}));
  EXPECT_NEAR(sum / sows, 1, 0.01);
  EXPECT_GT(severity(-50), 0);
  EXPECT_LT(severity(-1), severity(1));
}

}  // namespace
}  // namespace farrowtide
