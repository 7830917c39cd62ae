#include <gtest/gtest.h>

#include <cmath>
#include <cstdint>
#include <limits>

#include "libsim/kernel/errors.hpp"
#include "libsim/model/sow/meals.hpp"
#include "libsim/model/sow/trough.hpp"

namespace farrowtide {
namespace {

const Coefficients& built_in() {
  static const Coefficients coefficients = Coefficients::built_in();
  return coefficients;
}

Time at(Duration since_start) { return Time{since_start}; }

TEST(MealRules, ThresholdScalesWithTheRootOfAppetite) {
  const MealRules rules{built_in()};
  EXPECT_NEAR(rules.threshold_kg(7, 0), 0.9, 1e-12);
  EXPECT_NEAR(rules.threshold_kg(7.0 / 4, 0), 0.45, 1e-12);
  EXPECT_NEAR(rules.threshold_kg(7, 1), 0.9 * std::exp(0.35), 1e-12);
  EXPECT_EQ(rules.threshold_kg(0, 0), std::numeric_limits<double>::infinity());
}

TEST(MealRules, StartsOnlyWithEnoughAppetite) {
  const MealRules rules{built_in()};
  EXPECT_FALSE(rules.starts_at_delivery(0.15));
  EXPECT_TRUE(rules.starts_at_delivery(0.16));
  EXPECT_TRUE(rules.starts_when_stood_up(0.31, 0.49));
  EXPECT_FALSE(rules.starts_when_stood_up(0.31, 0.51));
  EXPECT_FALSE(rules.starts_when_stood_up(0.30, 0.01));
}

TEST(MealRules, DrawsWhatHungerAndTroughAllow) {
  const MealRules rules{built_in()};
  const Meal full = rules.meal(0.95, 4000);
  EXPECT_EQ(full.drawn_g, 1000);
  EXPECT_EQ(full.eaten_g, 950);
  EXPECT_EQ(full.wasted_g, 50);
  const Meal scarce = rules.meal(0.95, 200);
  EXPECT_EQ(scarce.drawn_g, 200);
  EXPECT_EQ(scarce.eaten_g, 190);
  EXPECT_EQ(rules.meal(-0.001, 4000).drawn_g, 0);
  EXPECT_GT(rules.meal(0.95, 4000, FeedForm::liquid).wasted_g, full.wasted_g);
}

TEST(MealRules, EveryMealIsEatenOrWasted) {
  const MealRules rules{built_in()};
  for (int pool_g = 1; pool_g < 3000; pool_g += 7)
    for (auto form : {FeedForm::dry, FeedForm::with_water, FeedForm::liquid}) {
      const Meal meal = rules.meal(pool_g / 1000.0, 1500, form);
      EXPECT_EQ(meal.drawn_g, meal.eaten_g + meal.wasted_g);
      EXPECT_LE(meal.drawn_g, 1500);
      EXPECT_LE(static_cast<double>(meal.eaten_g), pool_g + 1.0);
    }
}

// Quiniou et al. 2000: eating takes 61 min a day at 18 degC (7.80 kg) and 29 min at 29 degC (3.50 kg), +-8 (restated:
// the rate was entered).
TEST(MealRules, EatingTakesThePublishedTime) {
  const MealRules rules{built_in()};
  EXPECT_NEAR(rules.meal(7.80, 100'000).length.minutes(), 61, 8);
  EXPECT_NEAR(rules.meal(3.50, 100'000).length.minutes(), 29, 8);
}

// Meals a day, counting appetite over the mean threshold: 6.8-9.4 at 18-20 degC (7.8 kg), 4.5-6.5 at 29 degC (3.5 kg);
// Quiniou et al. 2000, Renaudeau et al. 2002 (fitted).
TEST(MealRules, MakesThePublishedNumberOfMeals) {
  const MealRules rules{built_in()};
  const double spread = std::exp(0.35 * 0.35 / 2);  // the mean of the lognormal threshold
  const double cool_meals = 7.8 / (rules.threshold_kg(7.8, 0) * spread);
  const double hot_meals = 3.5 / (rules.threshold_kg(3.5, 0) * spread);
  EXPECT_GE(cool_meals, 6.8);
  EXPECT_LE(cool_meals, 9.4);
  EXPECT_GE(hot_meals, 4.5);
  EXPECT_LE(hot_meals, 6.5);
}

TEST(MealRules, CarriesOverAPart) {
  const MealRules rules{built_in()};
  EXPECT_NEAR(rules.carried_over_kg(1.5), 0.3, 1e-12);
  EXPECT_EQ(rules.carried_over_kg(-0.0004), 0);
}

Trough hand_fed() {
  TroughRules rules = TroughRules::standard(built_in());
  rules.capacity_g = 4000;
  return Trough{rules};
}
Meal meal_of(std::int64_t drawn_g, std::int64_t wasted_g = 0) {
  return {.drawn_g = drawn_g, .eaten_g = drawn_g - wasted_g, .wasted_g = wasted_g};
}

TEST(Trough, TakesNoMoreThanItHolds) {
  Trough trough = hand_fed();
  EXPECT_EQ(trough.deliver(at(7_h), 3000, FeedForm::dry, 20), 3000);
  EXPECT_EQ(trough.deliver(at(7_h), 3000, FeedForm::dry, 20), 1000);
  EXPECT_EQ(trough.deliver(at(7_h), 500, FeedForm::dry, 20), 0);
  EXPECT_EQ(trough.offered_g(), 4000);
  EXPECT_EQ(trough.undelivered_g(), 2500) << "what does not fit is counted";
  EXPECT_EQ(trough.unaccounted_g(), 0);
  EXPECT_EQ(trough.edible_g(at(8_h)), 4000);
}

TEST(Trough, IsEatenOldestFirstAndSpoilsByLot) {
  Trough trough = hand_fed();
  trough.deliver(at(7_h), 1000, FeedForm::dry, 20);
  trough.deliver(at(15_h), 1000, FeedForm::dry, 20);
  EXPECT_EQ(trough.spoils_at(), at(19_h));
  trough.take(at(16_h), meal_of(1000, 50));
  EXPECT_EQ(trough.spoils_at(), at(27_h));
  EXPECT_FALSE(trough.holds_spoiled_feed(at(26_h)));
}

TEST(Trough, IsRefusedWhileSpoiledFeedLiesThere) {
  Trough trough = hand_fed();
  trough.deliver(at(7_h), 1000, FeedForm::dry, 20);
  EXPECT_EQ(trough.edible_g(at(19_h - 1_s)), 1000);
  EXPECT_EQ(trough.edible_g(at(19_h)), 0);
  trough.deliver(at(20_h), 1000, FeedForm::dry, 20);
  EXPECT_EQ(trough.edible_g(at(20_h)), 0) << "fresh feed on spoiled feed is refused";
  EXPECT_EQ(trough.clean(), 2000);
  trough.deliver(at(21_h), 800, FeedForm::dry, 20);
  EXPECT_EQ(trough.edible_g(at(21_h)), 800);
  EXPECT_EQ(trough.removed_g(), 2000);
  EXPECT_EQ(trough.unaccounted_g(), 0);
}

TEST(Trough, WetFeedSpoilsSoonerOnlyInTheHeat) {
  struct Row {
    FeedForm form;
    double room_deg_c;
    Duration fit_for;
  };
  for (const auto& [form, room_deg_c, fit_for] :
       {Row{FeedForm::dry, 30, 12_h}, Row{FeedForm::with_water, 30, 5_h}, Row{FeedForm::with_water, 25, 12_h},
        Row{FeedForm::liquid, 30, 12_h}}) {
    Trough trough = hand_fed();
    trough.deliver(at(7_h), 1000, form, room_deg_c);
    EXPECT_EQ(trough.spoils_at(), at(7_h + fit_for));
  }
}

TEST(Trough, GettingWetLaterNeverLengthensALife) {
  Trough trough = hand_fed();
  trough.deliver(at(7_h), 1000, FeedForm::dry, 28);
  trough.wet(at(9_h), 28);
  EXPECT_EQ(trough.spoils_at(), at(14_h));
  trough.wet(at(13_h), 28);
  EXPECT_EQ(trough.spoils_at(), at(14_h)) << "wet feed can't get wet again";
  Trough late = hand_fed();
  late.deliver(at(7_h), 1000, FeedForm::dry, 28);
  late.wet(at(17_h), 28);
  EXPECT_EQ(late.spoils_at(), at(19_h));
}

TEST(Trough, FullAccessOffersWhatIsDrawnAndDoesNotAge) {
  Trough trough = hand_fed();
  trough.deliver(at(7_h), 300, FeedForm::dry, 20);
  trough.set_access(FeedAccess::full);
  trough.take(at(8_h), meal_of(1200, 60));
  EXPECT_EQ(trough.offered_g(), 1200) << "300 that lay there and 900 from the hopper";
  EXPECT_TRUE(trough.empty());
  EXPECT_GT(trough.edible_g(at(500_h)), 1'000'000);
  EXPECT_FALSE(trough.spoils_at().has_value());
  EXPECT_THROW(trough.deliver(at(9_h), 100, FeedForm::dry, 20), InternalError);
}

TEST(Trough, RefusesMealsFromNowhere) {
  Trough trough = hand_fed();
  trough.deliver(at(7_h), 500, FeedForm::dry, 20);
  EXPECT_THROW(trough.take(at(8_h), meal_of(501)), InternalError);
  EXPECT_THROW(trough.take(at(8_h), {.drawn_g = 100, .eaten_g = 90, .wasted_g = 5}), InternalError);
  EXPECT_THROW(trough.take(at(20_h), meal_of(1)), InternalError) << "spoiled feed is not eaten";
}

// Offered = eaten + wasted + removed + in the trough, exactly, whatever happens to the trough.
TEST(Trough, LosesNoGramInALongMessyLife) {
  const MealRules rules{built_in()};
  Trough trough = hand_fed();
  std::uint64_t word = 12345;  // a fixed linear congruential sequence: any sequence will do
  const auto next = [&word](std::uint64_t below) {
    word = word * 6364136223846793005ULL + 1442695040888963407ULL;
    return (word >> 33) % below;
  };
  for (int i = 0; i < 20'000; ++i) {
    const Time now = at(Duration{600 * i});
    switch (next(5)) {
      case 0:
        trough.deliver(now, static_cast<std::int64_t>(next(3000)), FeedForm::dry, 20);
        break;
      case 1:
        trough.deliver(now, static_cast<std::int64_t>(next(3000)), FeedForm::with_water, 28);
        break;
      case 2:
        trough.wet(now, 27);
        break;
      case 3:
        trough.take(now, rules.meal(static_cast<double>(next(2000)) / 1000, trough.edible_g(now)));
        break;
      default:
        if (trough.holds_spoiled_feed(now)) trough.clean();
    }
    ASSERT_EQ(trough.unaccounted_g(), 0) << "step " << i;
  }
  EXPECT_GT(trough.eaten_g(), 1'000'000);
  EXPECT_GT(trough.removed_g(), 0);
}

}  // namespace
}  // namespace farrowtide
