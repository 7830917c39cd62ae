// What midnight does to one sow and her litter: the balance of the day, against the equations it is made of, and what
// each cause takes or gives beside an otherwise equal sow.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <numeric>

#include "libsim/model/appetite_of_day.hpp"
#include "libsim/model/milk_of_day.hpp"
#include "tests/unit/model/simulated_farm.hpp"

namespace farrowtide {
namespace {

std::string one_sow(int farrows_on_day, const std::string& more = "") {
  return "room: {crates: 1, drinker_blockages: off}\nclimate: {kind: imposed, temperature: 20}\n"
         "loading: {days_before_due: 4}\ngroup: {lactation_days: 21}\nhandling: {day: 3}\n"
         "herd: {health: off, mortality: off, every_sow: {parity: 3, total_born: 11, farrows_on_day: " +
         std::to_string(farrows_on_day) + "}}\n" + more;
}

// A second before the midnight after a calendar day.
struct LateOn : PausedFarm {
  explicit LateOn(int day, int farrows_on_day = 3, const Values& values = {}, const std::string& more = "")
      : PausedFarm(one_sow(farrows_on_day, more), Time{} + (day + 1) * 1_d - 1_s, values),
        midnight(Time{} + (day + 1) * 1_d) {}

  const SowDay& day() {
    run_until(midnight);
    return sow().days.back();
  }
  Piglet& piglet(std::size_t i = 0) { return *sow().litter.sucklings.at(i); }
  // What a piglet gains over this midnight.
  double gain_kg(std::size_t i = 0) {
    const double before_kg = piglet(i).weight_kg;
    run_until(midnight);
    return piglet(i).weight_kg - before_kg;
  }
  // What it would gain of the day's milk alone.
  double milk_gain_kg(std::size_t i = 0) {
    const int lactation_day = sow().lactation_day(room().now().day());
    return day_of_milk(room(), sow(), lactation_day, day_eaten_kg()).gain_of_piglets_kg.at(i);
  }
  double day_eaten_kg() {
    return static_cast<double>(sow().feeding.trough.eaten_g() - sow().feeding.at_midnight.eaten_g) / 1000;
  }

  const Time midnight;
};

TEST(DayOfTheTrough, IsWhatWentInAndOutSinceTheMidnightBefore) {
  LateOn farm(9);
  const Trough& trough = farm.sow().feeding.trough;
  FeedingState& feeding = farm.sow().feeding;
  feeding.at_midnight = {.offered_g = trough.offered_g() - 1000,
                         .undelivered_g = trough.undelivered_g() - 2000,
                         .eaten_g = trough.eaten_g() - 3000,
                         .wasted_g = trough.wasted_g() - 400,
                         .removed_g = trough.removed_g() - 500};
  feeding.meals_at_midnight = feeding.meals - 7;
  const SowDay day = farm.day();
  EXPECT_EQ(day.calendar_day, 9);
  EXPECT_EQ(day.offered_kg, 1);
  EXPECT_EQ(day.undelivered_kg, 2);
  EXPECT_EQ(day.eaten_kg, 3);
  EXPECT_EQ(day.wasted_kg, 0.4);
  EXPECT_EQ(day.removed_kg, 0.5);
  EXPECT_EQ(day.in_trough_at_midnight_kg, static_cast<double>(trough.in_trough_g()) / 1000);
  EXPECT_EQ(day.meals, 7);
  EXPECT_EQ(feeding.at_midnight.offered_g, trough.offered_g());
  EXPECT_EQ(feeding.at_midnight.undelivered_g, trough.undelivered_g());
  EXPECT_EQ(feeding.at_midnight.eaten_g, trough.eaten_g());
  EXPECT_EQ(feeding.at_midnight.wasted_g, trough.wasted_g());
  EXPECT_EQ(feeding.at_midnight.removed_g, trough.removed_g());
  EXPECT_EQ(feeding.meals_at_midnight, feeding.meals);
}

TEST(DayOfTheBody, BeforeFarrowingIsThatOfTheUnbornLitter) {
  LateOn farm(3, 8);
  const BodyState before = farm.sow().body;
  const EnergyDay expected = farm.biology().pre_farrow_energy(before.weight_kg, farm.day_eaten_kg(),
                                                              farm.settings().diet, farm.sow().reserves());
  const double appetite_kg = farm.sow().feeding.appetite_kg,
               effective_deg_c = farm.sow().feeding.effective_temperature_deg_c;
  const SowDay day = farm.day();
  EXPECT_EQ(day.effective_temperature_deg_c, effective_deg_c);
  EXPECT_EQ(day.room_temperature_deg_c, 20);
  const BodyState& after = farm.sow().body;
  EXPECT_FALSE(day.farrowed);
  EXPECT_EQ(day.appetite_kg, appetite_kg);
  EXPECT_NEAR(after.weight_kg - before.weight_kg, expected.body_weight_change_kg, 1e-9);
  EXPECT_NEAR(after.backfat_mm - before.backfat_mm, expected.backfat_change_mm, 1e-9);
  EXPECT_NEAR(after.protein_kg - before.protein_kg, expected.protein_change_kg, 1e-9);
  EXPECT_NE(expected.body_weight_change_kg, 0);
  EXPECT_NEAR(after.heat_w, farm.biology().sow_heat(expected.intake_mcal, expected.body_energy_mcal, 0), 1e-9);
  EXPECT_NEAR(day.energy_eaten_mcal, expected.intake_mcal, 1e-9);
  EXPECT_NEAR(day.maintenance_mcal, expected.maintenance_mcal + expected.other_need_mcal, 1e-9);
  EXPECT_NEAR(day.body_energy_change_mcal, expected.body_energy_mcal, 1e-9);
  EXPECT_NEAR(day.weight_change_kg, expected.body_weight_change_kg, 1e-9);
  EXPECT_EQ(day.weight_kg, after.weight_kg);
  EXPECT_EQ(day.backfat_mm, after.backfat_mm);
  EXPECT_NEAR(
      day.weighed_kg,
      farm.biology().weighed_sow(after.weight_kg, day.eaten_kg, farm.settings().herd.late_gestation_feed_kg_per_day),
      1e-9);
}

TEST(DayOfTheBody, InLactationIsFeedLessMilkAndLysine) {
  LateOn farm(5, 3, {{"sow.energy_balance.early_loss", 2}});
  const BodyState before = farm.sow().body;
  const double litter_kg = farm.sow().litter.weight_kg();
  const SowDay day = farm.day();
  const Biology& biology = farm.biology();
  const int lactation_day = farm.sow().lactation_day(5);
  const EnergyDay energy = biology.energy(before.weight_kg, day.eaten_kg, farm.settings().diet, day.milk_mcal,
                                          {.backfat_mm = before.backfat_mm, .parity = 3});
  const LysineDay lysine = biology.lysine(before.smoothed_lysine_shortfall_g, day.litter_gain_kg,
                                          day.eaten_kg * farm.settings().diet.total_lysine_g_per_kg, 3);
  const BodyState& after = farm.sow().body;
  EXPECT_TRUE(day.farrowed);
  EXPECT_NEAR(day.weight_change_kg,
              energy.body_weight_change_kg + lysine.body_weight_change_kg - biology.early_loss(lactation_day), 1e-6);
  EXPECT_NE(biology.early_loss(lactation_day), 0);
  EXPECT_NEAR(after.weight_kg - before.weight_kg, day.weight_change_kg, 1e-9);
  EXPECT_NEAR(after.backfat_mm - before.backfat_mm, energy.backfat_change_mm, 1e-9);
  EXPECT_NEAR(after.protein_kg - before.protein_kg, energy.protein_change_kg - lysine.protein_loss_kg, 1e-6);
  EXPECT_NEAR(after.smoothed_lysine_shortfall_g, lysine.smoothed_shortfall_g, 1e-6);
  EXPECT_NEAR(day.energy_eaten_mcal, energy.intake_mcal, 1e-9);
  EXPECT_NEAR(day.maintenance_mcal, energy.maintenance_mcal, 1e-9);
  EXPECT_NEAR(day.body_energy_change_mcal, energy.body_energy_mcal, 1e-9);
  EXPECT_NEAR(day.milk_potential_mcal, own_milk_potential_mcal(farm.room(), farm.sow(), lactation_day), 1e-9);
  EXPECT_NEAR(farm.sow().litter.weight_kg() - litter_kg, day.litter_gain_kg, 1e-9);
  EXPECT_EQ(day.piglets, 11);
  EXPECT_NEAR(after.heat_w,
              biology.sow_heat(energy.intake_mcal, energy.body_energy_mcal, day.milk_mcal) +
                  biology.litter_heat(11, litter_kg / 11, day.milk_mcal),
              1e-6);
  EXPECT_NEAR(after.smoothed_intake_mcal,
              biology.starvation.smoothed_mcal(before.smoothed_intake_mcal, energy.intake_mcal), 1e-9);
}

TEST(DayOfTheBody, OfASowThatHasNothingMoreToLoseIsWhatSheEats) {
  LateOn farm(9);
  BodyState& body = farm.sow().body;
  body.weight_kg = 0.5 * body.weight_at_loading_kg;
  body.smoothed_lysine_shortfall_g = 60;
  farm.sow().feeding.at_midnight.eaten_g = farm.sow().feeding.trough.eaten_g();  // she has eaten nothing today
  const BodyState before = body;
  const SowDay day = farm.day();
  EXPECT_EQ(day.eaten_kg, 0);
  EXPECT_EQ(day.body_energy_change_mcal, 0);
  EXPECT_EQ(day.maintenance_mcal, 0);
  EXPECT_EQ(body.backfat_mm, before.backfat_mm);
  EXPECT_EQ(body.protein_kg, before.protein_kg);
  EXPECT_NEAR(body.weight_kg, before.weight_kg - farm.biology().early_loss(farm.sow().lactation_day(9)), 1e-9);
}

TEST(DayOfTheBody, OfASowThatHasNothingMoreToLoseSpendsTheLittleThatSheAte) {
  LateOn farm(9);
  farm.sow().body.weight_kg = 0.5 * farm.sow().body.weight_at_loading_kg;
  farm.sow().feeding.at_midnight.eaten_g = farm.sow().feeding.trough.eaten_g() - 500;
  const SowDay day = farm.day();
  EXPECT_EQ(day.eaten_kg, 0.5);
  EXPECT_NEAR(day.energy_eaten_mcal, 0.5 * farm.settings().diet.energy_mcal_per_kg, 1e-12);
  EXPECT_EQ(day.maintenance_mcal, day.energy_eaten_mcal);
  EXPECT_EQ(day.body_energy_change_mcal, 0);
}

TEST(DayOfTheLitter, IsItsMilkWhereNothingElseGivesOrTakes) {
  for (const std::size_t i : {0u, 10u}) {
    LateOn one(7), other(7);
    EXPECT_NEAR(one.gain_kg(i), other.milk_gain_kg(i), 1e-9) << "piglet " << i;
  }
}

// Creep feed from day 7 of lactation on, to those that eat it.
TEST(DayOfTheLitter, AddsCreepFeedOfThoseThatEatIt) {
  const auto gain_kg = [](int day, bool eats) {
    LateOn farm(day);
    farm.sow().litter.creep_feed_z = 0;
    farm.piglet().eats_creep_feed = eats;
    const int lactation_day = farm.sow().lactation_day(day);
    const CreepFeed& creep = farm.biology().creep_feed;
    return std::pair{farm.gain_kg(), creep.gain_kg(creep.intake_g_per_day(lactation_day, 0))};
  };
  const auto [eats_kg, of_creep_kg] = gain_kg(20, true);
  EXPECT_GT(of_creep_kg, 0);
  EXPECT_NEAR(eats_kg - gain_kg(20, false).first, of_creep_kg, 1e-9);
  EXPECT_EQ(gain_kg(6, true).first, gain_kg(6, false).first) << "too young";
}

TEST(DayOfTheLitter, LosesToScours) {
  const auto gain_kg = [](bool scours) {
    LateOn farm(8);
    if (scours) {
      farm.piglet().days_scoured = 2;
      farm.sow().litter.scoured = 1;
    }
    const double lost_kg = lost_to_scours_kg(farm.room(), farm.sow(), farm.piglet(), farm.sow().lactation_day(8));
    return std::pair{farm.gain_kg(), lost_kg};
  };
  const auto [ill_kg, lost_kg] = gain_kg(true);
  EXPECT_GT(lost_kg, 0);
  EXPECT_NEAR(gain_kg(false).first - ill_kg, lost_kg, 1e-9);
}

TEST(DayOfTheLitter, LosesToCold) {
  const auto gain_kg = [](double heat_per_degree) {
    LateOn farm(4, 3, {{"litter.chilling.heat_per_degree", heat_per_degree}, {"room.micro_climate.creep_day_1", -6}});
    const Piglet& piglet = farm.piglet();
    const int lactation_day = farm.sow().lactation_day(4);
    const double lost_kg =
        farm.biology().chilling.gain_loss_g_per_day(piglet.weight_kg, (farm.midnight - piglet.born).days(),
                                                    farm.biology().micro_climate.creep_deg_c(20, lactation_day)) /
        1000;
    return std::pair{farm.gain_kg(), lost_kg};
  };
  const auto [cold_kg, lost_kg] = gain_kg(0.074);
  EXPECT_GT(lost_kg, 0);
  EXPECT_NEAR(gain_kg(0).first - cold_kg, lost_kg, 1e-9);
}

TEST(DayOfTheLitter, LosesNoMoreThanWithoutAnyMilk) {
  const auto gain_kg = [](bool scours) {
    LateOn farm(8, 3, {{"litter.creep_feed.non_eaters", 1}});
    farm.sow().water.milk_lost_d = 2;
    if (scours) {
      for (Piglet* piglet : farm.sow().litter.sucklings) piglet->days_scoured = 2;
      farm.sow().litter.scoured = 11;
    }
    const double loss_kg = farm.biology().unfed.weight_loss_kg(farm.piglet().weight_kg);
    return std::pair{farm.gain_kg(), loss_kg};
  };
  const auto [gain, loss_kg] = gain_kg(false);
  EXPECT_NEAR(gain, -loss_kg, 1e-9);
  EXPECT_NEAR(gain_kg(true).first, -loss_kg, 1e-9);
}

TEST(LowDrinker, IsJudgedByHerMeanOfTheFirstThreeDaysOfLactation) {
  const auto low = [](int lactation_day, double before_l) {
    LateOn farm(9);
    farm.sow().day_0 = 9 - lactation_day;
    farm.sow().water.low_drinker = false;
    farm.sow().water.early_l = before_l;
    const double drunk_l = farm.day().water_l;
    EXPECT_NEAR(farm.sow().water.early_l, lactation_day > 3 || lactation_day < 1 ? before_l : before_l + drunk_l, 1e-9);
    return std::pair{farm.sow().water.low_drinker, drunk_l};
  };
  const double drunk_l = low(2, 0).second;  // of that day, far above 6 L
  EXPECT_GT(drunk_l, 12);
  EXPECT_FALSE(low(1, 0).first);
  EXPECT_FALSE(low(2, 0.01 + 2 * 6 - low(2, 0).second).first);
  EXPECT_TRUE(low(2, -0.01 + 2 * 6 - low(2, 0).second).first);
  EXPECT_TRUE(low(3, -0.01 + 3 * 6 - low(3, 0).second).first);
  EXPECT_FALSE(low(3, 0.01 + 3 * 6 - low(3, 0).second).first);
  EXPECT_FALSE(low(4, -100).first) << "no longer";
}

TEST(Midnight, ClosesTheWaterOfTheDay) {
  LateOn farm(9);
  WaterState& water = farm.sow().water;
  water.drunk_standing_l = 3;
  const double usual_l = LateOn(9).day().water_l;
  EXPECT_NEAR(farm.day().water_l, usual_l + 3, 1e-9);
  EXPECT_EQ(water.drunk_standing_l, 0);
  EXPECT_EQ(water.most_today_l, 0);
  EXPECT_EQ(water.milk_lost_d, 0);
  EXPECT_EQ(water.noted_at, farm.midnight);
}

TEST(Midnight, CountsASowAsFarrowedFromTheDayOfHerLastBirthOn) {
  LateOn before(2), day_0(3);
  EXPECT_FALSE(before.day().farrowed);
  const bool same_day = day_0.sow().labour.last_birth.day() == 3 && day_0.sow().farrowed.reached();
  EXPECT_EQ(day_0.day().farrowed, same_day);
}

TEST(Midnight, NotesIllnessAndTeatsInUse) {
  LateOn farm(9);
  farm.sow().health.fell_ill = farm.midnight - 1_h;
  EXPECT_TRUE(farm.day().ill);
  const TeatUse& teats = farm.sow().litter.teats;
  const auto today = static_cast<std::size_t>(farm.sow().lactation_day(10));
  ASSERT_EQ(teats.suckled_on_day.size(), today + 1);
  EXPECT_EQ(teats.suckled_on_day.back(), 11);
  EXPECT_NEAR(farm.sow().litter.mean_at_midnight_kg, farm.sow().litter.mean_kg(), 1e-12);
}

TEST(Midnight, DrawsTheAppetiteOfTheDayAnew) {
  LateOn farm(9);
  const double before = farm.sow().feeding.appetite_noise;
  farm.day();
  const double z = farm.room().draws.normal(Purpose::appetite_noise, farm.sow().entity(), 10);
  EXPECT_NEAR(farm.sow().feeding.appetite_noise, farm.biology().appetite.variation().next_noise(before, z), 1e-12);
  LateOn first(0);
  EXPECT_EQ(first.sow().feeding.appetite_noise, first.sow().traits.appetite_noise) << "she came with it";
}

// At -30 degC outdoors the heater is always on and replaces what lamps do not give: two lamps of 125 W from the day
// before farrowing to day 4, one to day 14, none later; what the heater saves is their heat.
TEST(Lamps, SaveTheHeaterTheirHeatOnTheirDays) {
  constexpr int hours_to_weaning = (4 + 14 + 1) * 24;
  std::string cold = "[-30", damp = "[60";
  for (int hour = 1; hour < hours_to_weaning; ++hour) {
    cold += ", -30";
    damp += ", 60";
  }
  const auto heater_kwh = [&](double lamp_w) {
    const SimulatedFarm farm(
        "room: {crates: 4, drinker_blockages: off}\nclimate: {outdoor_hours: " + cold +
            "], outdoor_humidity_hours: " + damp +
            "]}\nloading: {days_before_due: 4}\ngroup: {lactation_days: 14}\n"
            "herd: {health: off, mortality: off, every_sow: {parity: 3, total_born: 11, farrows_on_day: 5}}\n"
            "temperature: {kind: constant, set_point: 22}\n",
        0, {{"room.lamps.power", lamp_w}});
    const auto hours = farm.column(farm.tables().room_hours, "heater_kwh");
    std::vector<double> days(hours.size() / 24);
    for (std::size_t hour = 0; hour < hours.size(); ++hour) days[hour / 24] += hours[hour];
    return days;
  };
  const auto without = heater_kwh(0), with = heater_kwh(125);
  const auto saved = [&](std::size_t day) { return (without.at(day) - with.at(day)) / 4; };
  EXPECT_NEAR(saved(3), 0, 1e-6);
  EXPECT_NEAR(saved(7), 2 * 0.125 * 24, 0.5);
  EXPECT_NEAR(saved(14), 0.125 * 24, 0.5);
}

}  // namespace
}  // namespace farrowtide
