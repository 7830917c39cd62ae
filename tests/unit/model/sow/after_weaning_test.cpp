#include "libsim/model/sow/after_weaning.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numeric>
#include <string>

namespace farrowtide {
namespace {

const Coefficients& built_in() {
  static const Coefficients coefficients = Coefficients::built_in();
  return coefficients;
}

// A sow at every centre: her predictor is 0.
LactationPast centred(int parity) {
  const std::size_t row = parity == 1 ? 0 : 2;
  const std::string interval = "sow.after_weaning.interval.";
  LactationPast sow;
  sow.parity = parity;
  sow.piglets = 11;
  sow.intake_kg_per_day = built_in().table(interval + "intake_centre", "kg/d")[row];
  sow.lactation_length_d = 21;
  sow.weight_loss_pct =
      built_in().table(interval + "loss_threshold", "%")[row] + built_in().table(interval + "loss_centre", "%")[row];
  return sow;
}

LactationPast centred_first_parity() { return centred(1); }

double odds_of_long_interval(const WeaningToOestrus& interval, const LactationPast& sow) {
  const auto shares = interval.class_shares(sow);
  const double late = shares[4] + shares[5];
  return late / (1 - late);
}

// Iida & Koketsu 2019, first parity: 4.1/30.0/38.4/7.9/12.7/6.9 %, +-2.5 (fitted: the shares were entered).
TEST(WeaningToOestrus, HasThePublishedFirstParityShares) {
  const WeaningToOestrus interval{built_in()};
  EXPECT_NEAR(interval.predictor(centred_first_parity()), 0, 1e-12);
  const auto shares = interval.class_shares(centred_first_parity());
  const double published[] = {.041, .300, .384, .079, .127, .069};
  for (int i = 0; i < 6; ++i) EXPECT_NEAR(shares[i], published[i], 0.001) << i;
}

// The same source: about 90 % of all sows within 6 d (restated in the later-parity share).
TEST(WeaningToOestrus, OlderSowsReturnSooner) {
  const WeaningToOestrus interval{built_in()};
  const auto shares = interval.class_shares(centred(3));
  EXPECT_NEAR(shares[4] + shares[5], 0.098, 0.002);
  EXPECT_NEAR(std::accumulate(shares.begin(), shares.end(), 0.0), 1, 1e-12);
}

// Eissen et al. 2003, lines of the 1990s: odds of a long interval x 0.58 per kg/d of intake, x 1.23 per piglet (+-10 %,
// fitted). A kg more feed a day also spares weight: 0.48 kg/d (computed from the efficiencies), here 21 d of a 185 kg
// sow.
TEST(WeaningToOestrus, AnswersToIntakeAndLitterAsPublished) {
  const WeaningToOestrus interval{built_in().with_value("sow.after_weaning.interval.modern_line_multiplier", 1)};
  const LactationPast usual = centred_first_parity();
  LactationPast eats_more = usual;
  eats_more.intake_kg_per_day += 1;
  eats_more.weight_loss_pct -= 100 * 0.48 * 21 / 185;
  EXPECT_NEAR(odds_of_long_interval(interval, eats_more) / odds_of_long_interval(interval, usual), 0.58, 0.058);
  LactationPast nurses_more = usual;
  nurses_more.piglets += 1;
  EXPECT_NEAR(odds_of_long_interval(interval, nurses_more) / odds_of_long_interval(interval, usual), 1.23, 0.001);
}

TEST(WeaningToOestrus, ModernLinesAnswerLess) {
  LactationPast sow = centred_first_parity();
  sow.piglets = 14;
  const WeaningToOestrus modern{built_in()};
  EXPECT_NEAR(modern.predictor(sow), 0.4 * 3 * 0.207, 1e-12);
}

TEST(WeaningToOestrus, LossBelowTheThresholdAndOddLengthsAddNothing) {
  const WeaningToOestrus interval{built_in()};
  LactationPast sow = centred_first_parity();
  sow.weight_loss_pct = 0;
  const double none = interval.predictor(sow);
  sow.weight_loss_pct = 5;
  EXPECT_EQ(interval.predictor(sow), none);
  sow.weight_loss_pct = 8;
  EXPECT_GT(interval.predictor(sow), none);
  sow.lactation_length_d = 28;
  const double at_cap = interval.predictor(sow);
  sow.lactation_length_d = 35;
  EXPECT_EQ(interval.predictor(sow), at_cap);
}

TEST(WeaningToOestrus, DrawsItsOwnShares) {
  const WeaningToOestrus interval{built_in()};
  const LactationPast sow = centred_first_parity();
  const auto shares = interval.class_shares(sow);
  std::array<double, 6> drawn{};
  double late_sum = 0;
  constexpr int n = 200'000;
  for (int i = 0; i < n; ++i) {
    const int days = interval(sow, (i + 0.5) / n);
    const int which = days <= 3 ? 0 : days <= 6 ? days - 3 : days <= 20 ? 4 : 5;
    drawn[which] += 1.0 / n;
    if (which == 5) late_sum += days;
    ASSERT_LE(days, 60);
  }
  for (int i = 0; i < 6; ++i) EXPECT_NEAR(drawn[i], shares[i], 1e-4) << i;
  // Mean of an exponential (7 d) cut at 39 d: 7 - 39/(e^(39/7) - 1), in closed form.
  EXPECT_NEAR(late_sum / n / shares[5], 21 + 7 - 39 / std::expm1(39.0 / 7), 0.1);
}

TEST(WeaningToOestrus, RisesWithTheUniformAndWithTrouble) {
  const WeaningToOestrus interval{built_in()};
  LactationPast troubled = centred_first_parity();
  troubled.intake_kg_per_day = 3;
  troubled.weight_loss_pct = 20;
  for (int i = 1; i < 2000; ++i) {
    const double uniform = i / 2000.0;
    EXPECT_GE(interval(troubled, uniform), interval(troubled, uniform - 0.0005));
    EXPECT_GE(interval(troubled, uniform), interval(centred_first_parity(), uniform)) << uniform;
  }
}

// Review values after Steverink 1999, from memory: about 88 % at 4-5 d, 84 % at 6-7 d, 78 % at 8-12 d (restated).
TEST(FarrowingRate, FallsWithTheIntervalAndWithLoss) {
  const FarrowingRate rate{built_in()};
  LactationPast sow;
  EXPECT_NEAR(rate(sow, 5), 0.88, 0.02);
  EXPECT_NEAR(rate(sow, 6), 0.84, 0.02);
  EXPECT_NEAR(rate(sow, 10), 0.78, 0.02);
  EXPECT_EQ(rate(sow, 21), rate(sow, 5));
  sow.weight_loss_pct = 14;
  EXPECT_NEAR(rate(sow, 5), 0.85, 1e-12);
  sow.weight_loss_pct = 22;
  EXPECT_NEAR(rate(sow, 5), 0.87 - 0.06 - 0.05, 1e-12);
}

// Bjorkman, doctoral thesis: odds of not pregnant x 3.4 after a farrowing over 300 min (restated).
TEST(FarrowingRate, LongFarrowingMultipliesTheOddsOfFailure) {
  const FarrowingRate rate{built_in()};
  LactationPast sow;
  const double usual = rate(sow, 5);
  sow.farrowing_duration_min = 300;
  EXPECT_EQ(rate(sow, 5), usual);
  sow.farrowing_duration_min = 301;
  EXPECT_NEAR((1 - rate(sow, 5)) / rate(sow, 5), 3.4 * (1 - usual) / usual, 1e-12);
}

// Eissen et al. 2003: 1.28 piglets less per kg/d of loss, first parity (restated).
TEST(NextTotalBorn, FallsWithLossAboveTheHerds) {
  const NextTotalBorn change{built_in()};
  LactationPast sow;
  sow.parity = 1;
  sow.weight_loss_kg_per_day = 1.5;
  EXPECT_NEAR(change(sow, 0.5), -1.28, 1e-12);
  sow.parity = 4;
  EXPECT_NEAR(change(sow, 0.5), -0.6, 1e-12);
  EXPECT_EQ(change(sow, 1.5), 0);
}

// Koketsu 2018: 12.4 % removed a parity and 5.9 % a service; 2.2-3.9 points more after a late service (restated).
// Anil et al. 2006: more removal after 3.5 kg/d or less in the first two weeks, most after a day without eating there;
// the sizes are assumed.
TEST(RemovalRisk, RisesWithLateServiceAndPoorEating) {
  const RemovalRisk risk{built_in()};
  LactationPast sow;
  EXPECT_NEAR(risk(sow, 5), 0.18, 1e-12);
  EXPECT_NEAR(risk(sow, 7), 0.21, 1e-12);
  sow.early_intake_kg_per_day = 3.5;
  EXPECT_NEAR(risk(sow, 5) / (1 - risk(sow, 5)), 1.5 * 0.18 / 0.82, 1e-12);
  sow.zero_feed_day_early = true;
  EXPECT_NEAR(risk(sow, 5) / (1 - risk(sow, 5)), 3 * 0.18 / 0.82, 1e-12);
}

}  // namespace
}  // namespace farrowtide
