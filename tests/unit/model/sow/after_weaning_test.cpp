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
  // The loss at which both terms add up to what they are in the mean of the default herd.
  const double slope = built_in().number(interval + "per_percent_loss", "logit/%"),
               severe = built_in().table(interval + "per_percent_severe_loss", "logit/%")[row],
               from = built_in().number(interval + "severe_loss_from", "%"),
               threshold = built_in().table(interval + "loss_threshold", "%")[row];
  const double mean = slope * built_in().table(interval + "loss_centre", "%")[row] +
                      severe * built_in().table(interval + "severe_loss_centre", "%")[row];
  sow.weight_loss_pct = threshold + mean / slope;
  if (sow.weight_loss_pct > from) sow.weight_loss_pct = (mean + slope * threshold + severe * from) / (slope + severe);
  return sow;
}

LactationPast centred_first_parity() { return centred(1); }

double odds_of_long_interval(const WeaningToOestrus& interval, const LactationPast& sow) {
  const auto shares = interval.class_shares(sow);
  const double late = shares[4] + shares[5] + shares[6];
  return late / (1 - late);
}

// Iida & Koketsu 2019, first parity: 4.1/30.0/38.4/7.9/12.7/6.9 % of those mated, +-2.5 (fitted); 3 % are not
// (assumed).
TEST(WeaningToOestrus, HasThePublishedFirstParityShares) {
  const WeaningToOestrus interval{built_in()};
  EXPECT_NEAR(interval.predictor(centred_first_parity()), 0, 1e-12);
  const auto shares = interval.class_shares(centred_first_parity());
  const double published[] = {.041, .300, .384, .079, .127, .069};
  for (int i = 0; i < 6; ++i) EXPECT_NEAR(shares[i] / 0.97, published[i], 0.0251) << i;
  EXPECT_NEAR(shares[6], 0.03, 1e-6);
}

// The same source: about 90 % of all sows within 6 d (restated in the later-parity share).
TEST(WeaningToOestrus, OlderSowsReturnSooner) {
  const WeaningToOestrus interval{built_in()};
  const auto shares = interval.class_shares(centred(3));
  EXPECT_NEAR((shares[4] + shares[5]) / (1 - shares[6]), 0.089, 0.005);  // half of 0.125 + 0.053
  EXPECT_NEAR(std::accumulate(shares.begin(), shares.end(), 0.0), 1, 1e-12);
}

// Eissen et al. 2003: odds of a long interval x 0.58 per kg/d of intake (fitted). A kg more feed a day also spares
// weight: 0.48 kg/d (computed from the efficiencies), here 21 d of a 185 kg sow. Per piglet they found x 1.23; the
// fitted coefficient gives exp(0.18), by hand.
TEST(WeaningToOestrus, AnswersToIntakeAndLitterAsPublished) {
  const WeaningToOestrus interval{built_in()};
  const LactationPast usual = centred_first_parity();
  LactationPast eats_more = usual;
  eats_more.intake_kg_per_day += 1;
  eats_more.weight_loss_pct -= 100 * 0.48 * 21 / 185;
  const double ratio = odds_of_long_interval(interval, eats_more) / odds_of_long_interval(interval, usual);
  EXPECT_GT(ratio, 0.45);
  EXPECT_LT(ratio, 0.70);
  LactationPast nurses_more = usual;
  nurses_more.piglets += 1;
  EXPECT_NEAR(odds_of_long_interval(interval, nurses_more) / odds_of_long_interval(interval, usual), 1.1972, 0.001);
}

// By hand: every class boundary moves by the same odds ratio.
TEST(WeaningToOestrus, ShiftsEveryBoundaryAlike) {
  const WeaningToOestrus interval{built_in()};
  const auto usual = interval.class_shares(centred_first_parity());
  LactationPast sow = centred_first_parity();
  sow.piglets = 14;
  const auto moved = interval.class_shares(sow);
  double before = 0, after = 0;
  for (std::size_t i = 0; i < 6; ++i) {
    before += usual[i];
    after += moved[i];
    EXPECT_NEAR((1 - after) / after / ((1 - before) / before), std::exp(3 * 0.18), 1e-9) << i;
  }
}

// Severe loss counts more for each percent, and heat beside what it does to intake; more in first parity.
TEST(WeaningToOestrus, SevereLossAndHeatLengthenIt) {
  const WeaningToOestrus interval{built_in()};
  LactationPast sow = centred_first_parity();
  const auto at = [&](double loss_pct) {
    sow.weight_loss_pct = loss_pct;
    return interval.predictor(sow);
  };
  EXPECT_GT(at(14) - at(12), 2 * (at(9) - at(7)));
  for (const int parity : {1, 3}) {
    LactationPast hot = centred(parity);
    hot.effective_temperature_deg_c = 24;
    EXPECT_EQ(interval.predictor(hot), interval.predictor(centred(parity)));
    hot.effective_temperature_deg_c = 28;
    const double slope = built_in().table("sow.after_weaning.interval.heat", "logit/K")[parity == 1 ? 0 : 2];
    EXPECT_NEAR(interval.predictor(hot) - interval.predictor(centred(parity)), 4 * slope, 1e-12);
  }
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
  std::array<double, 7> drawn{};
  double late_sum = 0;
  constexpr int n = 200'000;
  for (int i = 0; i < n; ++i) {
    const std::optional<int> shown = interval(sow, (i + 0.5) / n);
    const int days = shown.value_or(0);
    const int which = !shown ? 6 : days <= 3 ? 0 : days <= 6 ? days - 3 : days <= 20 ? 4 : 5;
    drawn[which] += 1.0 / n;
    if (which == 5) late_sum += days;
    ASSERT_LE(days, 60);
  }
  for (int i = 0; i < 7; ++i) EXPECT_NEAR(drawn[i], shares[i], 1e-4) << i;
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
    constexpr int none = 1000;
    const int days = interval(troubled, uniform).value_or(none);
    EXPECT_GE(days, interval(troubled, uniform - 0.0005).value_or(none));
    EXPECT_GE(days, interval(centred_first_parity(), uniform).value_or(none)) << uniform;
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
  const RemovalRisk risk{built_in().with_value("sow.legs.removal_odds_ratio", 1)};
  LactationPast sow;
  EXPECT_NEAR(risk(sow, 5), 0.18, 1e-12);
  EXPECT_NEAR(risk(sow, 7), 0.21, 1e-12);
  sow.early_intake_kg_per_day = 3.5;
  EXPECT_NEAR(risk(sow, 5) / (1 - risk(sow, 5)), 1.5 * 0.18 / 0.82, 1e-12);
  sow.zero_feed_day_early = true;
  EXPECT_NEAR(risk(sow, 5) / (1 - risk(sow, 5)), 3 * 0.18 / 0.82, 1e-12);
}

// Iida et al. 2020: 19.6 removals for lameness in 1,000 sow-years, 0.85 % a cycle; 6 % of sows lame (Pluym et al.
// 2013).
TEST(RemovalRisk, LamenessAddsThePublishedRemovalsAndLeavesTheMean) {
  const RemovalRisk risk{built_in()};
  LactationPast sow, lame;
  lame.lame = true;
  EXPECT_NEAR(0.06 * (risk(lame, 5) - risk(sow, 5)), 0.0085, 0.001);
  EXPECT_NEAR(0.06 * risk(lame, 5) + 0.94 * risk(sow, 5), 0.18, 0.002);
  EXPECT_NEAR(risk(sow, {}), 0.9, 1e-12) << "no oestrus";
}

}  // namespace
}  // namespace farrowtide
