#include "libsim/model/sow/appetite.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace farrowtide {
namespace {

const Coefficients& built_in() {
  static const Coefficients coefficients = Coefficients::built_in();
  return coefficients;
}

// Oracle values here and below: computed in double precision from the published equations by a separate script
// (restated: they test the code, not the model).

TEST(AppetiteCurve, GivesTheOracleValues) {
  const AppetiteCurve curve{built_in()};
  const Diet diet = Diet::standard(built_in());
  struct Row {
    int day, parity;
    double kg;
  };
  for (const auto& [day, parity, kg] :
       {Row{1, 3, 3.146495497}, Row{7, 3, 6.418322993}, Row{14, 3, 6.882962347}, Row{21, 3, 6.957863513},
        Row{1, 1, 2.680508506}, Row{7, 1, 6.068180865}, Row{7, 2, 6.317597681}})
    EXPECT_NEAR(curve(day, parity, diet), kg, 1e-6) << "day " << day << ", parity " << parity;
}

double mean_intake_kg(int days, int parity = 3) {
  const AppetiteCurve curve{built_in()};
  double sum = 0;
  for (int day = 1; day <= days; ++day) sum += curve(day, parity, Diet::standard(built_in()));
  return sum / days;
}

// NRC 2012 worked table: 6.61 kg/d for parity 2 and later, with 5 % waste, 21 d (restated: the asymptote is set to it).
TEST(AppetiteCurve, KeepsTheHandbooksMean) {
  const double with_waste = 1 / (1 - built_in().number("sow.meals.waste_share", "-"));
  EXPECT_NEAR(mean_intake_kg(21) * with_waste, 6.61, 0.2);
}

// The handbook's curve is of herds as fed: 1.99 kg/d on day 1, 4.2 kg/d over the first week.
// Halfway between the same feed and the same energy: 1.1^-0.5 of the feed of a diet with a tenth more energy.
TEST(AppetiteCurve, CompensatesPartOfTheEnergyOfADiet) {
  const AppetiteCurve curve{built_in()};
  const Diet usual = Diet::standard(built_in());
  Diet dense = usual;
  dense.energy_mcal_per_kg *= 1.1;
  EXPECT_NEAR(curve(14, 3, dense) / curve(14, 3, usual), 1 / std::sqrt(1.1), 1e-12);
  const AppetiteCurve in_full{built_in().with_value("sow.appetite.curve.energy_compensation", 1.0)};
  EXPECT_NEAR(in_full(14, 3, dense) / in_full(14, 3, usual), 1 / 1.1, 1e-12);
  const AppetiteCurve in_kg{built_in().with_value("sow.appetite.curve.energy_compensation", 0.0)};
  EXPECT_NEAR(in_kg(14, 3, dense), in_kg(14, 3, usual), 1e-12);
}

TEST(AppetiteCurve, StartsAboveTheHandbooksHerdsAsFed) {
  const AppetiteCurve curve{built_in()};
  EXPECT_GT(curve(1, 3, Diet::standard(built_in())), 1.99);
  EXPECT_GT(mean_intake_kg(7), 4.21);
}

TEST(AppetiteCurve, RisesMoreSlowlyInFirstParity) {
  EXPECT_LT(mean_intake_kg(7, 1) / mean_intake_kg(21, 1), mean_intake_kg(7, 3) / mean_intake_kg(21, 3));
}

TEST(AppetiteCurve, FallsLateByItsCoefficient) {
  const AppetiteCurve steady{built_in().with_value("sow.appetite.curve.late_fall", 0.0)};
  const AppetiteCurve falling{built_in().with_value("sow.appetite.curve.late_fall", 0.005)};
  const Diet diet = Diet::standard(built_in());
  EXPECT_EQ(falling(18, 3, diet), steady(18, 3, diet));
  EXPECT_NEAR(falling(28, 3, diet), steady(28, 3, diet) * std::exp(-0.05), 1e-12);
}

TEST(AppetiteCurve, HalvesOnTheFarrowingDay) {
  const AppetiteCurve curve{built_in()};
  const Diet diet = Diet::standard(built_in());
  EXPECT_NEAR(curve(0, 3, diet), curve(1, 3, diet) / 2, 1e-12);
}

TEST(LitterSizeEffect, RisesToTenPigletsAndStaysThere) {
  const LitterSizeEffect effect{built_in()};
  EXPECT_NEAR(effect.mcal_per_day(6), -1.361200000, 1e-9);
  EXPECT_NEAR(effect.mcal_per_day(8), -0.408800000, 1e-9);
  EXPECT_NEAR(effect.mcal_per_day(10), -0.010000000, 1e-9);
  EXPECT_NEAR(effect.mcal_per_day(14), 0.003442880, 1e-9);
  EXPECT_EQ(effect.mcal_per_day(11), effect.mcal_per_day(18));
}

// Eissen et al. 2003: no effect of 8 against 14 piglets, 2 % (restated: the plateau was entered).
TEST(LitterSizeEffect, BarelySeparatesEightFromFourteen) {
  const LitterSizeEffect effect{built_in()};
  const Diet diet = Diet::standard(built_in());
  EXPECT_LT((effect(14, diet) - effect(8, diet)) / mean_intake_kg(28), 0.02);
}

// Schinckel et al. 2010: less than 15 % of the extra milk energy is eaten.
TEST(MilkFeedbackEffect, EatsAShareOfTheExtraMilk) {
  const MilkFeedbackEffect effect{built_in()};
  const Diet diet = Diet::standard(built_in());
  const double extra_feed_mcal = effect(13, 12, diet) * diet.energy_mcal_per_kg;
  EXPECT_NEAR(extra_feed_mcal, 0.06 / 0.70, 1e-12);
  EXPECT_EQ(effect(12, 12, diet), 0);
  EXPECT_LT(effect(11, 12, diet), 0);
}

TEST(TemperatureEffect, GivesTheOracleValues) {
  const TemperatureEffect effect{built_in()};
  struct Row {
    double deg_c;
    int parity;
    double share;
  };
  for (const auto& [deg_c, parity, share] :
       {Row{23.5, 3, 0.938775510}, Row{26, 3, 0.840306122}, Row{28, 3, 0.651530612}, Row{29, 3, 0.520408163},
        Row{32, 3, 0.477040816}, Row{25, 1, 0.924623116}, Row{30, 1, 0.577135678}, Row{20, 3, 1.000000000},
        Row{20, 1, 1.000000000}})
    EXPECT_NEAR(effect(deg_c, parity), share, 1e-9) << deg_c << " degC, parity " << parity;
}

TEST(TemperatureEffect, NeverRisesWithHeatAndHitsFirstParityLess) {
  const TemperatureEffect effect{built_in()};
  for (double deg_c = 8; deg_c < 38; deg_c += 0.25)
    for (int parity : {1, 3}) EXPECT_LE(effect(deg_c + 0.25, parity), effect(deg_c, parity)) << deg_c;
  for (double deg_c = 21; deg_c <= 35; deg_c += 0.5) EXPECT_GT(effect(deg_c, 1), effect(deg_c, 3)) << deg_c;
}

// Ratios to the cool room at constant temperature (fitted: these trials chose the knots). Quiniou & Noblet 1999;
// Renaudeau et al. 2001; Messias de Braganca & Prunier 1997 and 1998, authors from memory.
TEST(TemperatureEffect, FollowsTheChamberTrials) {
  const TemperatureEffect effect{built_in()};
  struct Row {
    double cool_deg_c, warm_deg_c;
    int parity;
    double ratio, tolerance;
  };
  for (const auto& [cool, warm, parity, ratio, tolerance] :
       {Row{18, 25, 3, .88, .05}, Row{18, 27, 3, .79, .05}, Row{18, 29, 3, .486, .05}, Row{20, 29, 3, .553, .06},
        Row{18, 27, 3, .72, .06}, Row{20, 30, 1, .57, .07}})
    EXPECT_NEAR(effect(warm, parity) / effect(cool, parity), ratio, tolerance) << cool << " against " << warm;
}

TEST(ConditionEffect, FallsWithBackfatWithinItsClip) {
  const ConditionEffect effect{built_in()};
  EXPECT_EQ(effect(18, 3), 1);
  EXPECT_NEAR(effect(22, 3), 1 - 4 * 0.012, 1e-12);
  EXPECT_NEAR(effect(22, 1), 1 - 4 * 0.012, 1e-12);
  EXPECT_EQ(effect(60, 3), 0.8);
  EXPECT_EQ(effect(0, 1), 1.1);
  // Both slopes are alike by default; each parity has its own.
  const ConditionEffect steeper{built_in().with_value("sow.appetite.condition.slope_first_parity", 0.02)};
  EXPECT_NEAR(steeper(22, 1), 1 - 4 * 0.02, 1e-12);
  EXPECT_NEAR(steeper(22, 3), 1 - 4 * 0.012, 1e-12);
}

// Knots (restated). The Aarhus University trial found 3.96 / 4.44 / 4.07 kg/d eaten in week 1, of limited allowances.
TEST(PreFarrowFeedEffect, ActsInTheFirstWeekOnly) {
  const PreFarrowFeedEffect effect{built_in()};
  EXPECT_NEAR(effect(3, 1.8, 18), 0.79, 1e-12);
  EXPECT_NEAR(effect(7, 5.0, 18), 0.82, 1e-12);
  EXPECT_EQ(effect(5, 3, 18), 1);
  EXPECT_EQ(effect(8, 1.8, 18), 1);
}

// Cools et al. 2014: free access before farrowing did no harm but to sows above 22 mm.
TEST(PreFarrowFeedEffect, MuchFeedHarmsFatSowsOnly) {
  const PreFarrowFeedEffect effect{built_in()};
  EXPECT_EQ(effect(3, 5.0, 14), 1);
  EXPECT_LT(effect(3, 5.0, 23), effect(3, 5.0, 18));
  EXPECT_EQ(effect(3, 1.8, 14), effect(3, 1.8, 23)) << "too little harms any sow";
}

TEST(Appetite, HasAMostByBodyWeight) {
  const Appetite appetite{built_in()};
  AppetiteInputs sow{
      .lactation_day = 20, .diet = Diet::standard(built_in()), .herd_factor = 5, .piglets = 12, .body_weight_kg = 200};
  EXPECT_EQ(appetite(sow).appetite_kg_per_day, appetite.most_kg(200));
  EXPECT_NEAR(appetite.most_kg(200), 13, 1e-12);
}

TEST(AppetiteVariation, KeepsItsVarianceAndItsCorrelation) {
  const AppetiteVariation variation{built_in()};
  // Unit variance is a fixed point of e' = rho e + sqrt(1 - rho^2) z.
  const double from_last = variation.next_noise(1, 0), from_z = variation.next_noise(0, 1);
  EXPECT_NEAR(from_last * from_last + from_z * from_z, 1, 1e-12);
  EXPECT_NEAR(from_last, 0.68, 1e-12);
}

TEST(AppetiteVariation, SowMultiplierHasMeanOneOverSows) {
  const AppetiteVariation variation{built_in()};
  const double sd = built_in().number("sow.sow_effects.appetite_sd", "log");
  for (int day : {0, 5, 10, 21}) {
    double mean = 0, weight = 0;  // over a normal sow effect, by the midpoint rule
    for (double z = -6; z < 6; z += 0.01) {
      const double density = std::exp(-z * z / 2);
      mean += density * variation.sow_multiplier(day, sd * z);
      weight += density;
    }
    EXPECT_NEAR(mean / weight, 1, 1e-6) << "day " << day;
  }
  EXPECT_EQ(variation.growth(0), 0.5);
  EXPECT_EQ(variation.growth(10), 1);
  EXPECT_EQ(variation.growth(21), 1);
}

TEST(AppetiteVariation, NoiseShrinksWithSmallAppetitesAndNeverTakesThemBelowZero) {
  const AppetiteVariation variation{built_in()};
  EXPECT_NEAR(variation.noise_kg_per_day(6, 1, 3, 1), 0.79, 1e-12);
  EXPECT_NEAR(variation.noise_kg_per_day(6, 1, 1, 1), 0.95, 1e-12);
  EXPECT_NEAR(variation.noise_kg_per_day(3, 1, 3, 1), 0.395, 1e-12);
  EXPECT_NEAR(variation.noise_kg_per_day(6, 1, 3, 0.4), 0.316, 1e-12);
  EXPECT_EQ(variation(2, 1, 3, 0, -20, 1), 0);
}

TEST(AppetiteVariation, UnsteadinessKeepsTheMeanVarianceAndMayBeSwitchedOff) {
  const AppetiteVariation variation{built_in()};
  double square = 0, weight = 0;  // over a normal draw, by the midpoint rule
  for (double y = -7; y < 7; y += 0.01) {
    const double density = std::exp(-y * y / 2);
    square += density * std::pow(variation.unsteadiness(y), 2);
    weight += density;
  }
  EXPECT_NEAR(square / weight, 1, 1e-6);
  EXPECT_EQ(AppetiteVariation{built_in().with_value("sow.appetite.variation.unsteadiness_sd", 0.0)}.unsteadiness(2), 1);
}

TEST(HeatCarryOver, IsOneInSteadyHeatAndFadesAfterIt) {
  const HeatCarryOver carry_over{built_in()};
  EXPECT_NEAR(HeatCarryOver::loss(0.7), 0.3, 1e-12);
  EXPECT_EQ(HeatCarryOver::loss(1.01), 0);
  double memory = 0;
  for (int day = 0; day < 200; ++day) memory = carry_over.next_memory(memory, 0.3);
  EXPECT_NEAR(memory, 0.3, 1e-9);
  EXPECT_NEAR(carry_over(memory, 0.7), 1, 1e-9);
  EXPECT_NEAR(carry_over(0.3, 1), 1 - 0.25 * 0.3, 1e-9);
  EXPECT_NEAR(carry_over.next_memory(0.3, 0), 0.25, 1e-12);  // a sixth is forgotten in a day
  EXPECT_EQ(carry_over(0.1, 0.7), 1) << "a first hot day";
}

TEST(HeatCarryOver, NeverLetsMoreHeatRaiseIntake) {
  const HeatCarryOver carry_over{built_in().with_value("sow.appetite.heat_carry_over.strength", 0.5)};
  for (double memory = 0; memory < 1; memory += 0.1)
    for (double factor = 1; factor > 0.05; factor -= 0.05)
      EXPECT_LE((factor - 0.05) * carry_over(memory, factor - 0.05), factor * carry_over(memory, factor) + 1e-12);
}

TEST(TirednessEffect, FadesOverThreeDaysAndMayBeSwitchedOff) {
  const TirednessEffect tiredness{built_in()};
  EXPECT_EQ(tiredness(0, 4), 1);
  EXPECT_NEAR(tiredness(0, 8), 1 - 0.12, 1e-12);
  EXPECT_NEAR(tiredness(1, 8), 1 - 0.08, 1e-12);
  EXPECT_NEAR(tiredness(0, 40), 1 - 0.3, 1e-12);
  EXPECT_EQ(tiredness(3, 40), 1);
  EXPECT_EQ(tiredness(10, 40), 1);
  EXPECT_EQ(TirednessEffect{built_in().with_value("sow.appetite.tiredness.slope", 0.0)}(0, 20), 1);
}

TEST(PreFarrowAppetite, FallsOnTheDayBefore) {
  const PreFarrowAppetite appetite{built_in()};
  EXPECT_EQ(appetite(-4), 5.0);
  EXPECT_EQ(appetite(-2), 5.0);
  EXPECT_EQ(appetite(-1), 4.0);
}

AppetiteInputs usual_sow() {
  AppetiteInputs sow;
  sow.lactation_day = 14;
  sow.diet = Diet::standard(built_in());
  sow.piglets = 12;
  sow.own_potential_milk_mcal = sow.parity_mean_potential_milk_mcal = 14;
  return sow;
}

TEST(Appetite, IsMadeOfItsParts) {
  const Appetite appetite{built_in()};
  AppetiteInputs sow = usual_sow();
  sow.parity = 1;
  sow.herd_factor = 0.96;
  sow.own_potential_milk_mcal = 15;
  sow.effective_temperature_deg_c = 26;
  sow.heat_memory = 0.4;
  sow.lactation_day = 1;
  sow.labour_h = 7;
  sow.unsteadiness = 1.4;
  sow.backfat_p2_mm = 15;
  sow.sow_effect_log = 0.1;
  sow.noise = 0.5;
  sow.form = FeedForm::with_water;
  sow.health_multiplier = 0.5;
  sow.water_multiplier = 0.9;
  sow.handling_multiplier = 0.8;
  const AppetiteParts parts = appetite(sow);
  const double in_comfort = parts.parity_factor * parts.herd_factor * parts.curve_kg_per_day +
                            parts.litter_size_kg_per_day + parts.milk_feedback_kg_per_day;
  const double expected = in_comfort * parts.temperature_factor * parts.heat_carry_over_factor *
                          parts.tiredness_factor * parts.condition_factor * parts.pre_farrow_feed_factor;
  EXPECT_NEAR(parts.appetite_kg_per_day,
              (expected * parts.sow_multiplier + parts.noise_kg_per_day) * 1.05 * 0.5 * 0.9 * 0.8, 1e-12);
  EXPECT_EQ(parts.parity_factor, 0.86);
  EXPECT_GT(parts.milk_feedback_kg_per_day, 0);
  EXPECT_LT(parts.temperature_factor, 1);
  EXPECT_LT(parts.heat_carry_over_factor, 1);
  EXPECT_LT(parts.tiredness_factor, 1);
  EXPECT_GT(parts.condition_factor, 1);
}

TEST(Appetite, FallsWithHeatFatAndIllnessAndRisesWithParityAndWater) {
  const Appetite appetite{built_in()};
  const auto kg = [&](auto change) {
    AppetiteInputs sow = usual_sow();
    change(sow);
    return appetite(sow).appetite_kg_per_day;
  };
  const double usual = kg([](AppetiteInputs&) {});
  EXPECT_LT(kg([](AppetiteInputs& sow) { sow.effective_temperature_deg_c = 27; }), usual);
  EXPECT_LT(kg([](AppetiteInputs& sow) { sow.backfat_p2_mm = 24; }), usual);
  EXPECT_LT(kg([](AppetiteInputs& sow) { sow.health_multiplier = 0.5; }), usual);
  EXPECT_LT(kg([](AppetiteInputs& sow) { sow.parity = 1; }), usual);
  EXPECT_GT(kg([](AppetiteInputs& sow) { sow.form = FeedForm::with_water; }), usual);
  EXPECT_LT(kg([](AppetiteInputs& sow) { sow.piglets = 6; }), usual);
}

}  // namespace
}  // namespace farrowtide
