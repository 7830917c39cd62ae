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

TEST(MealRules, ThresholdScalesWithAPowerOfAppetite) {
  const MealRules rules{built_in()};
  EXPECT_NEAR(rules.threshold_kg(7, 0), 0.9, 1e-12);
  EXPECT_NEAR(rules.threshold_kg(7.0 / 4, 0), 0.465869215729, 1e-12);
  EXPECT_NEAR(rules.threshold_kg(7, 1), 0.9 * std::exp(0.35), 1e-12);
  EXPECT_NEAR(rules.threshold_kg(7.0 / 16, 0), 0.465869215729 * 0.465869215729 / 0.9, 1e-9);
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

TEST(MealRules, ForgetsUnmetAppetiteGraduallyAndOnlyWhatExceedsAMeal) {
  const MealRules rules{built_in()};
  EXPECT_NEAR(rules.pool_later_kg(0.2, 0.5, 3, 0.9), 0.7, 1e-12) << "not yet a meal";
  EXPECT_NEAR(rules.pool_later_kg(0.9, 0, 24, 0.9), 0.9, 1e-12);
  EXPECT_NEAR(rules.pool_later_kg(2.9, 0, 10, 0.9), 0.9 + 1, 1e-9) << "half of what exceeds it, after a half-life";
  EXPECT_NEAR(rules.pool_later_kg(2.9, 0, 20, 0.9), 0.9 + 0.5, 1e-9);
  const double noon_kg = rules.pool_later_kg(0.5, 2, 6, 0.9);
  EXPECT_NEAR(rules.pool_later_kg(noon_kg, 2, 6, 0.9), rules.pool_later_kg(0.5, 4, 12, 0.9), 1e-9)
      << "however often somebody asks";
  EXPECT_LT(rules.pool_later_kg(0, 70, 240, 0.9), 0.9 + 7.0 / 24 * 10 / 0.69) << "ten days of hunger add up to a limit";
  EXPECT_DOUBLE_EQ(rules.pool_later_kg(0.4, 3, 5, std::numeric_limits<double>::infinity()), 3.4);
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
  EXPECT_EQ(trough.acceptable_g(at(8_h), 10, 0.9), 4000);
}

TEST(Trough, FreshFeedOnARemnantStaysFreshAndIsEatenFirst) {
  Trough trough = hand_fed();
  trough.deliver(at(7_h), 1000, FeedForm::dry, 20);
  trough.deliver(at(20_h), 1000, FeedForm::dry, 20);
  EXPECT_TRUE(trough.holds_stale_feed(at(20_h)));
  EXPECT_EQ(trough.acceptable_g(at(20_h), 0.95, 0.9), 950);
  trough.take(meal_of(1000, 50));
  EXPECT_TRUE(trough.holds_stale_feed(at(20_h))) << "the remnant is what is left";
  EXPECT_EQ(trough.clean(at(20_h)), 1000);
}

TEST(Trough, FeedIsAcceptedLessAndLessTheOlderItIsAndMoreByAHungrierSow) {
  Trough trough = hand_fed();
  trough.deliver(at(0_h), 4000, FeedForm::dry, 20);
  const double meal_kg = 0.9;
  EXPECT_EQ(trough.acceptable_g(at(12_h), 2, meal_kg), 2000) << "fit";
  EXPECT_EQ(trough.acceptable_g(at(24_h), 2 * meal_kg, meal_kg), std::llround(2 * 900 * std::sqrt(0.5)));
  EXPECT_EQ(trough.acceptable_g(at(24_h), meal_kg, meal_kg), 0) << "not hungry enough";
  std::int64_t before_g = 4000;
  for (int hour = 13; hour < 240; ++hour) {
    const auto now_g = trough.acceptable_g(at(Duration::from_hours(hour)), 4, meal_kg);
    EXPECT_LE(now_g, before_g);
    EXPECT_GE(now_g, before_g - 300) << "no step, at " << hour << " h";
    EXPECT_GT(now_g, 1000) << "a sow as hungry as that eats old feed, at " << hour << " h";
    before_g = now_g;
  }
}

TEST(Trough, CleaningRemovesNoFeedYoungerThanItsFitTime) {
  Trough trough = hand_fed();
  trough.deliver(at(0_h), 1000, FeedForm::dry, 20);
  trough.deliver(at(8_h), 1000, FeedForm::dry, 20);
  EXPECT_EQ(trough.clean(at(12_h)), 0);
  EXPECT_EQ(trough.clean(at(12_h + 1_s)), 1000);
  EXPECT_EQ(trough.in_trough_g(), 1000);
  EXPECT_EQ(trough.removed_g(), 1000);
  EXPECT_EQ(trough.unaccounted_g(), 0);
}

TEST(Trough, FeedAgesFasterInTheHeatAndFastestWhenWet) {
  const auto stale_after_h = [](FeedForm form, double room_deg_c) {
    Trough trough = hand_fed();
    trough.deliver(at(0_h), 1000, form, room_deg_c);
    double hours = 0;
    while (!trough.holds_stale_feed(at(Duration::from_hours(hours)))) hours += 0.1;
    return hours;
  };
  EXPECT_NEAR(stale_after_h(FeedForm::dry, 20), 12, 0.2);
  EXPECT_NEAR(stale_after_h(FeedForm::with_water, 20), 12, 0.2);
  EXPECT_NEAR(stale_after_h(FeedForm::dry, 28), 12 * std::exp(-0.16), 0.2);
  EXPECT_NEAR(stale_after_h(FeedForm::with_water, 28), 12 * std::exp(-0.8), 0.2);
}

TEST(Trough, FeedAgesByTheTemperatureOfEachDay) {
  Trough trough = hand_fed();
  trough.deliver(at(0_h), 1000, FeedForm::with_water, 20);
  trough.feel(at(6_h), 30);  // half of its time has gone; the rest takes e times less
  EXPECT_FALSE(trough.holds_stale_feed(at(8_h)));
  EXPECT_TRUE(trough.holds_stale_feed(at(8_h + 15_min)));
}

TEST(Trough, FullAccessOffersWhatIsDrawnAndFoulsThePanALittle) {
  Trough trough = hand_fed();
  trough.deliver(at(7_h), 300, FeedForm::dry, 20);
  trough.set_access(FeedAccess::full);
  trough.take(meal_of(1200, 60));
  EXPECT_EQ(trough.offered_g(), 1209) << "300 that lay there, 900 from the hopper, and 9 that foul the pan";
  EXPECT_TRUE(trough.empty());
  EXPECT_GT(trough.acceptable_g(at(500_h), 1, 0.9), 1'000'000);
  EXPECT_FALSE(trough.holds_stale_feed(at(500_h)));
  EXPECT_EQ(trough.clean(at(31_h)), 9);
  EXPECT_EQ(trough.unaccounted_g(), 0);
  EXPECT_THROW(trough.deliver(at(9_h), 100, FeedForm::dry, 20), InternalError);
}

TEST(Trough, RefusesMealsFromNowhere) {
  Trough trough = hand_fed();
  trough.deliver(at(7_h), 500, FeedForm::dry, 20);
  EXPECT_THROW(trough.take({.drawn_g = 100, .eaten_g = 90, .wasted_g = 5}), InternalError);
  EXPECT_THROW(trough.take(meal_of(501)), InternalError);
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
        trough.feel(now, 27);
        break;
      case 3:
        trough.take(rules.meal(static_cast<double>(next(2000)) / 1000, trough.acceptable_g(now, 2, 0.9)));
        break;
      default:
        trough.clean(now);
    }
    ASSERT_EQ(trough.unaccounted_g(), 0) << "step " << i;
  }
  EXPECT_GT(trough.eaten_g(), 1'000'000);
  EXPECT_GT(trough.removed_g(), 0);
}

}  // namespace
}  // namespace farrowtide
