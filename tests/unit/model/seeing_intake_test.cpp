// What staff see of a sow's eating and drinking, without the error of their eyes: between two mornings, and against
// what such a sow eats.
#include "libsim/model/seeing_intake.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "libsim/model/appetite_of_day.hpp"
#include "tests/unit/model/simulated_farm.hpp"

namespace farrowtide {
namespace {

constexpr Time noon = Time{} + 8_d + 12_h;

const Values sharp_eyes = {{"sow.signs.eaten_sd", 0},
                           {"sow.signs.eaten_sd_without_readings", 0},
                           {"sow.signs.drunk_sd", 0},
                           {"sow.signs.not_eaten_or_drunk_sensitivity", 1}};

std::string sow_fed(const std::string& feeding, int farrows_on_day = 2) {
  return "room: {crates: 1, drinker_blockages: off}\nclimate: {kind: imposed, temperature: 20}\n"
         "herd: {health: off, mortality: off, every_sow: {parity: 3, total_born: 12, farrows_on_day: " +
         std::to_string(farrows_on_day) + "}}\nfeeding: " + feeding + "\n";
}

// She was seen at this time before, and has eaten and been offered so much since then.
void seen_before(PausedFarm& farm, Time at, double eaten_kg, double in_front_of_her_kg) {
  const Trough& trough = farm.sow().feeding.trough;
  const auto grams = [](double kg) { return std::llround(kg * 1000); };
  farm.sow().intake_seen = {.day = static_cast<int>(at.day()),
                            .at = at,
                            .eaten_g = trough.eaten_g() - grams(eaten_kg),
                            .offered_g = trough.offered_g(),
                            .in_trough_g = grams(in_front_of_her_kg)};
}

TEST(IntakeSeen, IsWhatIsGoneSinceTheMorningBeforeAgainstWhatSuchASowEats) {
  PausedFarm farm(sow_fed("{kind: hand}"), noon, sharp_eyes);
  Sow& sow = farm.sow();
  const int today = sow.lactation_day(8);
  const AppetiteClock& clock = sow.feeding.clock_of_day;
  const double by_noon = clock.share_by(12 * 3600), by_nine = clock.share_by(9 * 3600);
  const double usual_kg = usual_appetite_kg(farm.room(), sow, today - 1) * (1 - by_nine) +
                          usual_appetite_kg(farm.room(), sow, today) * by_noon;
  seen_before(farm, noon - 27_h, 5, 20);
  see_intake(farm.room(), sow);
  EXPECT_EQ(sow.intake_seen.day, 8);
  EXPECT_EQ(sow.intake_seen.at, noon);
  EXPECT_NEAR(sow.intake_seen.eaten_kg, 5, 1e-9);
  EXPECT_NEAR(sow.intake_seen.expected_kg, usual_kg, 1e-9) << "of yesterday after 09:00, and of today until noon";
  EXPECT_NEAR(sow.intake_seen.drunk_l, 4.3 * 5, 1e-6) << "4.3 L/kg at 20 degC";
  EXPECT_NEAR(sow.intake_seen.expected_l, 4.3 * usual_kg, 1e-6);
  EXPECT_EQ(sow.intake_seen.left_kg(), static_cast<double>(sow.feeding.trough.in_trough_g()) / 1000);
}

TEST(IntakeSeen, IsExpectedToBeNoMoreThanWasInFrontOfHerUnlessSheIsFedFreely) {
  PausedFarm by_hand(sow_fed("{kind: hand}"), noon, sharp_eyes);
  seen_before(by_hand, noon - 1_d, 1.5, 1.8);
  by_hand.sow().intake_seen.offered_g -= 400;
  see_intake(by_hand.room(), by_hand.sow());
  EXPECT_NEAR(by_hand.sow().intake_seen.expected_kg, 1.8 + 0.4, 1e-9) << "left in the trough, and poured since";
  PausedFarm freely(sow_fed("{kind: full_access}"), noon, sharp_eyes);
  seen_before(freely, noon - 1_d, 1.5, 1.8);
  see_intake(freely.room(), freely.sow());
  EXPECT_GT(freely.sow().intake_seen.expected_kg, 3);
}

TEST(IntakeSeen, CountsOnceADayAndNotBeforeASowHasFarrowedOrBeenSeen) {
  PausedFarm farm(sow_fed("{kind: hand}"), noon, sharp_eyes);
  seen_before(farm, noon - 1_d, 5, 20);
  farm.sow().intake_seen.day = 8;
  see_intake(farm.room(), farm.sow());
  EXPECT_EQ(farm.sow().intake_seen.at, noon - 1_d) << "she was seen today";
  seen_before(farm, noon - 1_d, 5, 20);
  farm.sow().intake_seen.day = -1;
  see_intake(farm.room(), farm.sow());
  EXPECT_EQ(farm.sow().intake_seen.expected_kg, 0) << "never seen before";
  seen_before(farm, noon - 1_d, 5, 20);
  farm.sow().intake_seen.day = 0;
  see_intake(farm.room(), farm.sow());
  EXPECT_GT(farm.sow().intake_seen.expected_kg, 0) << "seen on the first day of the farm";
  PausedFarm unborn(sow_fed("{kind: hand}", 12), noon, sharp_eyes);
  seen_before(unborn, noon - 1_d, 0, 20);
  see_intake(unborn.room(), unborn.sow());
  EXPECT_EQ(unborn.sow().intake_seen.day, 8);
  EXPECT_EQ(unborn.sow().intake_seen.expected_kg, 0);
  EXPECT_EQ(intake_finding(unborn.room(), unborn.sow()), IntakeFinding::as_expected);
}

// A sow takes no meal until 2 h after the last birth, so nothing is expected of her before.
TEST(IntakeSeen, ExpectsNothingOfTheHoursAfterFarrowing) {
  PausedFarm farm(sow_fed("{kind: full_access}"), noon, sharp_eyes);
  const auto expected = [&](Duration since_birth) {
    farm.sow().labour.last_birth = noon - since_birth;
    seen_before(farm, noon - 1_d, 0, 20);
    see_intake(farm.room(), farm.sow());
    return std::pair{farm.sow().intake_seen.expected_kg, farm.sow().intake_seen.expected_l};
  };
  const Duration pause = farm.biology().no_meal_after_birth;
  EXPECT_EQ(expected(pause), std::pair(0.0, 0.0));
  EXPECT_EQ(expected(pause - 1_h), std::pair(0.0, 0.0)) << "she will eat only in an hour";
  const AppetiteClock& clock = farm.sow().feeding.clock_of_day;
  const double usual_kg = usual_appetite_kg(farm.room(), farm.sow(), farm.sow().lactation_day(8));
  EXPECT_NEAR(expected(pause + 3_h).first, usual_kg * (clock.share_by(12 * 3600) - clock.share_by(9 * 3600)), 1e-9);
  EXPECT_NEAR(expected(pause + 3_h).second, 4.3 * expected(pause + 3_h).first, 1e-6);
}

TEST(IntakeSeen, CountsMorningsInARowWithoutFeedWhereThereWasSomethingToEat) {
  PausedFarm farm(sow_fed("{kind: hand}"), noon, sharp_eyes);
  const auto days_off_feed = [&](double eaten_kg, double in_front_of_her_kg) {
    seen_before(farm, noon - 1_d, eaten_kg, in_front_of_her_kg);
    see_intake(farm.room(), farm.sow());
    return farm.sow().feeding.days_off_feed;
  };
  EXPECT_EQ(days_off_feed(0, 4), 1);
  EXPECT_EQ(days_off_feed(0.39, 4), 2) << "a tenth of 4 kg is 0.4 kg";
  EXPECT_EQ(days_off_feed(0, 0.9), 2) << "less than 1 kg in front of her: no morning to judge";
  EXPECT_EQ(days_off_feed(0.41, 4), 0);
  EXPECT_EQ(days_off_feed(0, 1), 1);
}

// Off feed below 0.4 of what was expected, off water below 0.3; a drinker that gives nothing is seen as such.
TEST(IntakeFinding, NamesADryDrinkerBeforeASowThatIsOffFeedOrWater) {
  PausedFarm farm(sow_fed("{kind: hand}"), noon, sharp_eyes);
  const auto finding = [&](double eaten_kg, double drunk_l) {
    farm.sow().intake_seen = {
        .day = 8, .at = noon, .eaten_kg = eaten_kg, .expected_kg = 5, .drunk_l = drunk_l, .expected_l = 20};
    return intake_finding(farm.room(), farm.sow());
  };
  EXPECT_EQ(finding(2, 6), IntakeFinding::as_expected);
  EXPECT_EQ(finding(1.99, 6), IntakeFinding::off_feed_or_water);
  EXPECT_EQ(finding(2, 5.99), IntakeFinding::off_feed_or_water);
  farm.sow().water.drinker.open_share = 0.01;
  EXPECT_EQ(finding(2, 6), IntakeFinding::as_expected);
  farm.sow().water.drinker.open_share = 0;
  EXPECT_EQ(finding(2, 6), IntakeFinding::drinker_is_dry);
  EXPECT_EQ(finding(0, 0), IntakeFinding::drinker_is_dry);
}

TEST(IntakeFinding, IsMissedByThoseWhoSeeNothing) {
  PausedFarm farm(sow_fed("{kind: hand}"), noon, {{"sow.signs.not_eaten_or_drunk_sensitivity", 0}});
  farm.sow().intake_seen = {.day = 8, .at = noon, .expected_kg = 5, .expected_l = 20};
  farm.sow().water.drinker.open_share = 0;
  EXPECT_EQ(intake_finding(farm.room(), farm.sow()), IntakeFinding::as_expected);
}

// Portions show what is gone; a feeder that is always full only where it is read.
TEST(IntakeSeen, IsUncertainAtAFeederWithoutReadings) {
  const auto seen_kg = [](const std::string& feeding) {
    PausedFarm farm(sow_fed(feeding), noon, {{"sow.signs.eaten_sd", 0}, {"sow.signs.eaten_sd_without_readings", 1}});
    seen_before(farm, noon - 1_d, 5, 20);
    see_intake(farm.room(), farm.sow());
    return farm.sow().intake_seen.eaten_kg;
  };
  EXPECT_NEAR(seen_kg("{kind: hand}"), 5, 1e-9);
  EXPECT_GT(std::abs(seen_kg("{kind: full_access}") - 5), 0.01);
  EXPECT_NEAR(seen_kg("{kind: full_access, readings: true}"), 5, 1e-9);
}

}  // namespace
}  // namespace farrowtide
