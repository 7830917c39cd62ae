#include "libsim/model/sow/energy_balance.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "libsim/model/sow/milk.hpp"

namespace farrowtide {
namespace {

const Coefficients& built_in() {
  static const Coefficients coefficients = Coefficients::built_in();
  return coefficients;
}

// Restated, from a separate script.
TEST(EnergyBalance, GivesTheOracleDay) {
  const EnergyBalance balance{built_in()};
  const EnergyDay day = balance(240, 3, Diet::standard(built_in()), 8.933199032158251);
  EXPECT_NEAR(day.balance_mcal, -8.959305881, 1e-9);
  EXPECT_NEAR(day.body_energy_mcal, -7.208636916, 1e-9);
  EXPECT_NEAR(day.body_weight_change_kg, -1.325271854, 1e-9);
  EXPECT_NEAR(day.backfat_change_mm, -0.322858470, 1e-8);
}

// 1 kg of body lost gives 5.43936 Mcal, a gain takes 5.8 (restated).
TEST(EnergyBalance, ConvertsEnergyToWeight) {
  const EnergyBalance balance{built_in()};
  const EnergyDay loses = balance.day(15, 6, 0, 12), gains = balance.day(30, 6, 0, 12);
  EXPECT_NEAR(loses.body_energy_mcal / loses.body_weight_change_kg, 5.43936, 1e-5);
  EXPECT_NEAR(gains.body_energy_mcal / gains.body_weight_change_kg, 5.8, 1e-12);
}

// The ledger's law, body taken from lipid and protein and not from the balance it came from:
// eaten = maintenance + other need + milk/efficiency + body/efficiency.
TEST(EnergyBalance, ClosesEveryDay) {
  const EnergyBalance balance{built_in()};
  const Diet diet = Diet::standard(built_in());
  for (double eaten_kg = 0; eaten_kg < 12; eaten_kg += 0.25)
    for (double milk_mcal = 0; milk_mcal < 20; milk_mcal += 1) {
      const EnergyDay day = balance(210, eaten_kg, diet, milk_mcal);
      const double body_cost_mcal = balance.body_cost_mcal(day.lipid_change_kg, day.protein_change_kg);
      EXPECT_NEAR(day.intake_mcal, day.maintenance_mcal + day.other_need_mcal + day.milk_cost_mcal + body_cost_mcal,
                  1e-9);
      EXPECT_NEAR(day.intake_mcal, eaten_kg * diet.energy_mcal_per_kg, 1e-12);
    }
}

TEST(EnergyBalance, KeepsTheLeastBackfatAndTakesTheRestFromProtein) {
  const EnergyBalance balance{built_in()};
  const EnergyDay fat = balance.day(0, 6, 0, 10, {.backfat_mm = 16}),
                  thin = balance.day(0, 6, 0, 10, {.backfat_mm = 5.2}),
                  bare = balance.day(0, 6, 0, 10, {.backfat_mm = 5});
  const EnergyDay endless = balance.day(0, 6, 0, 10);
  EXPECT_NEAR(fat.backfat_change_mm, endless.backfat_change_mm, 1e-12);
  EXPECT_NEAR(fat.body_weight_change_kg, endless.body_weight_change_kg, 1e-12);
  EXPECT_NEAR(thin.backfat_change_mm, -0.2, 1e-12);
  EXPECT_EQ(bare.backfat_change_mm, 0);
  EXPECT_LT(bare.protein_change_kg, fat.protein_change_kg);
  EXPECT_LT(bare.body_weight_change_kg, fat.body_weight_change_kg) << "protein tissue holds less energy";
  for (const EnergyDay& day : {fat, thin, bare}) {
    const double body_cost = balance.body_cost_mcal(day.lipid_change_kg, day.protein_change_kg);
    EXPECT_NEAR(day.intake_mcal, day.maintenance_mcal + day.milk_cost_mcal + body_cost, 1e-9);
  }
  EXPECT_EQ(balance.most_milk_mcal(200, 0, Diet{}, {.backfat_mm = 5}), 0) << "no feed and no fat, no milk";
  EXPECT_GT(balance.most_milk_mcal(200, 0, Diet{}, {.backfat_mm = 18}), 15)
      << "a sow in normal condition is not limited";
}

// By hand: odds of 0.073/0.927 at 16 mm, times 2^-0.75 at 32 mm and 2^0.75 at 8 mm, three tenths more in first
// parities.
TEST(ProteinShare, FallsWithBackfatAndParity) {
  const ProteinShare share{built_in()};
  EXPECT_NEAR(share({}), 0.073, 1e-12);
  EXPECT_NEAR(share({.backfat_mm = 16}), 0.073, 1e-12);
  EXPECT_NEAR(share({.backfat_mm = 8}), 0.116950164422, 1e-12);
  EXPECT_NEAR(share({.backfat_mm = 32}), 0.044729790446, 1e-12);
  EXPECT_NEAR(share({.backfat_mm = 16, .parity = 1}), 0.0949 / (0.927 + 0.0949), 1e-12);
}

// SEGES 2021, 3,919 sows: 1.2 mm and 7.9 kg from 9 mm of backfat, 5.4 mm and 18.4 kg from 26 mm; most in first
// parities.
TEST(EnergyBalance, FatSowsLoseMoreBackfatAndLessWeightPerEnergy) {
  const EnergyBalance balance{built_in()};
  for (double backfat_mm = 6; backfat_mm < 28; backfat_mm += 0.5) {
    const EnergyDay thin = balance.day(12, 6, 0, 10, {.backfat_mm = backfat_mm}),
                    fat = balance.day(12, 6, 0, 10, {.backfat_mm = backfat_mm + 0.5}),
                    young = balance.day(12, 6, 0, 10, {.backfat_mm = backfat_mm, .parity = 1});
    EXPECT_LT(thin.backfat_change_mm, 0);
    EXPECT_LT(fat.backfat_change_mm, thin.backfat_change_mm);
    EXPECT_GT(fat.body_weight_change_kg, thin.body_weight_change_kg);
    EXPECT_LT(young.body_weight_change_kg, thin.body_weight_change_kg);
    EXPECT_LT(young.protein_change_kg, thin.protein_change_kg);
  }
}

// Backfat is that of the body's lipid and weight: lipid = a + b (empty weight) + c P2, before and after.
TEST(EnergyBalance, KeepsLipidWeightAndBackfatTogether) {
  const EnergyBalance balance{built_in()};
  const BodyComposition body{built_in()};
  for (double backfat_mm : {9.0, 16.0, 24.0}) {
    const EnergyDay day = balance.day(12, 6, 0, 10, {.backfat_mm = backfat_mm});
    EXPECT_NEAR(body.lipid_kg(230 + day.body_weight_change_kg, backfat_mm + day.backfat_change_mm),
                body.lipid_kg(230, backfat_mm) + day.lipid_change_kg, 1e-9);
  }
}

TEST(EnergyBalance, MoreFeedNeverMeansMoreLoss) {
  const EnergyBalance balance{built_in()};
  const Diet diet = Diet::standard(built_in());
  for (double eaten_kg = 0; eaten_kg < 12; eaten_kg += 0.1)
    EXPECT_GT(balance(210, eaten_kg + 0.1, diet, 12).body_weight_change_kg,
              balance(210, eaten_kg, diet, 12).body_weight_change_kg);
}

TEST(PreFarrowBalance, IsEvenAtOneAndAHalfMaintenance) {
  const PreFarrowBalance balance{built_in()};
  const Diet diet = Diet::standard(built_in());
  const double maintenance_mcal = Maintenance{built_in()}(230);
  const EnergyDay even = balance(230, 1.5 * maintenance_mcal / diet.energy_mcal_per_kg, diet, {.backfat_mm = 18});
  EXPECT_NEAR(even.body_energy_mcal, 0, 1e-12);
  EXPECT_NEAR(even.other_need_mcal, maintenance_mcal / 2, 1e-12);
  EXPECT_LT(balance(230, 1.5, diet, {.backfat_mm = 18}).body_weight_change_kg, 0);
  EXPECT_GT(balance(230, 4, diet, {.backfat_mm = 18}).body_weight_change_kg, 0);
}

struct HandbookRow {
  double body_weight_kg, piglets, gain_g, feed_kg, handbook_kg, oracle_kg;
};
constexpr HandbookRow handbook_rows[] = {
    {175, 11, 190, 5.95, 1.5, 1.538},   {175, 11, 230, 5.95, -7.7, -7.832},   {175, 11, 270, 5.93, -17.4, -17.614},
    {210, 11.5, 190, 6.61, 3.7, 3.603}, {210, 11.5, 230, 6.61, -5.8, -5.910}, {210, 11.5, 270, 6.61, -15.9, -15.933},
};

// NRC 2012 worked table, lactating sows, 21 d (independent rows, the handbook's equations), +-0.4 kg. Oracle values in
// kilograms to the gram are restated.
TEST(LactationMeanBalance, ReproducesTheHandbooksSixRows) {
  const LactationMeanBalance mean{built_in()};
  for (const HandbookRow& row : handbook_rows) {
    const double change_kg =
        mean(row.body_weight_kg, row.piglets, row.gain_g, row.feed_kg, Diet::standard(built_in()), 21);
    EXPECT_NEAR(change_kg, row.handbook_kg, 0.4) << row.body_weight_kg << " kg, " << row.gain_g << " g/d";
    EXPECT_NEAR(change_kg, row.oracle_kg, 0.0005) << row.body_weight_kg << " kg, " << row.gain_g << " g/d";
  }
}

// The daily balance on constant feed and milk is the same arithmetic but for 5.43936 against 5.45 Mcal per kg lost.
TEST(LactationMeanBalance, AgreesWithTheDailyBalanceOnEvenDays) {
  const LactationMeanBalance mean{built_in()};
  const EnergyBalance daily{built_in()};
  const MilkPotential milk{built_in()};
  const Diet diet = Diet::standard(built_in());
  for (const HandbookRow& row : handbook_rows) {
    const double milk_mcal = milk.mean_mcal_per_day(row.gain_g, row.piglets);
    const double change_kg = 21 * daily(row.body_weight_kg, 0.95 * row.feed_kg, diet, milk_mcal).body_weight_change_kg;
    EXPECT_NEAR(change_kg, mean(row.body_weight_kg, row.piglets, row.gain_g, row.feed_kg, diet, 21), 0.05);
  }
}

// NRC 1998, 175 kg, 10 piglets, no change of weight: 14.06 / 17.475 / 20.895 Mcal ME for 150 / 200 / 250 g (restated,
// from memory), with that edition's maintenance and efficiency.
TEST(EnergyBalance, IsEvenAtTheOlderHandbooksNeeds) {
  const Coefficients older =
      built_in().with_values({{"sow.energy_balance.maintenance", 0.106}, {"sow.energy_balance.milk_efficiency", 0.72}});
  const EnergyBalance balance{older};
  const MilkPotential milk{older};
  struct Row {
    double gain_g, need_mcal;
  };
  for (const auto& [gain_g, need_mcal] : {Row{150, 14.060}, Row{200, 17.475}, Row{250, 20.895}}) {
    const EnergyDay day = balance.day(need_mcal, balance.maintenance()(175), 0, milk.mean_mcal_per_day(gain_g, 10));
    EXPECT_NEAR(day.balance_mcal, 0, 0.01 * need_mcal) << gain_g << " g/d";
  }
}

// Restated, from a separate script.
TEST(LysineBalance, GivesTheOracleDay) {
  const LysineBalance lysine{built_in()};
  const double shortfall_g = lysine.shortfall_g(2.5, 3 * 10.5);
  EXPECT_NEAR(shortfall_g, 23.8568, 1e-9);
  EXPECT_NEAR(lysine.protein_loss_g(shortfall_g, 1), 274.3532, 1e-9);
  EXPECT_NEAR(lysine.protein_loss_g(shortfall_g, 3), 0.25 * 274.3532, 1e-9);
  EXPECT_NEAR(lysine.weight_change_kg(274.3532), -1.175632649, 1e-9);
}

TEST(LysineBalance, ASurplusCostsNothing) {
  const LysineBalance lysine{built_in()};
  for (double shortfall_g : {-30.0, -1.0, 0.0, 3.9}) EXPECT_EQ(lysine.protein_loss_g(shortfall_g, 1), 0) << shortfall_g;
  for (double shortfall_g = 4; shortfall_g < 40; ++shortfall_g)
    EXPECT_GT(lysine.protein_loss_g(shortfall_g + 1, 1), lysine.protein_loss_g(shortfall_g, 1));
}

TEST(LysineBalance, KeepsTheEnergyOfTheProteinAsLipid) {
  const LysineBalance lysine{built_in()};
  const LysineDay day = lysine(20, 2.5, 31.5, 1);
  EXPECT_NEAR(day.protein_loss_kg * 5.6, day.lipid_spared_kg * 9.4, 1e-12);
  EXPECT_NEAR(day.body_weight_change_kg, 1.2 * day.lipid_spared_kg - 5 * day.protein_loss_kg, 1e-12);
  EXPECT_NEAR(day.smoothed_shortfall_g, 20 + (1 - std::exp(-1.0 / 7)) * (23.8568 - 20), 1e-9);
}

// By hand: 10 g of digestible lysine short of the need of the gain she has, 2.5 kg/d at full milk.
TEST(LysineBalance, LittersGainLessWithoutLysine) {
  const LysineBalance lysine{built_in()};
  EXPECT_NEAR(lysine.milk_multiplier(10, 2.5, 3), std::exp(-0.015 / (1 - 0.015 * 26) * 10 / 0.88 / 2.5), 1e-12);
  EXPECT_GT(lysine.milk_multiplier(10, 2.5, 1), lysine.milk_multiplier(10, 2.5, 3));
  EXPECT_EQ(lysine.milk_multiplier(-5, 2.5, 3), 1);
  EXPECT_EQ(lysine.milk_multiplier(10, 0, 3), 1);
}

TEST(WeighedSow, HasMoreFeedInHerGutTheMoreSheEats) {
  const WeighedSow weighed{built_in()};
  EXPECT_NEAR(weighed(240, 3, 3), 240, 1e-12);
  EXPECT_NEAR(weighed(240, 7, 3), 240 + 0.2 * 4, 1e-12);
}

TEST(EarlyLoss, IsOffByDefaultAndAddsUpWhenOn) {
  EXPECT_EQ(EarlyLoss{built_in()}(1), 0);
  const EarlyLoss loss{built_in().with_value("sow.energy_balance.early_loss", 3)};
  double total_kg = 0;
  for (int day = -1; day <= 10; ++day) total_kg += loss(day);
  EXPECT_NEAR(total_kg, 3, 1e-12);
  EXPECT_EQ(loss(0), 0);
  EXPECT_EQ(loss(7), 0);
  EXPECT_NEAR(loss(2) / loss(1), std::exp(-0.5), 1e-12);
}

// Restated, from a separate script.
TEST(BodyComposition, GivesTheOracleBody) {
  const BodyComposition body{built_in()};
  EXPECT_NEAR(body.lipid_kg(230, 16), 43.6928, 1e-9);
  EXPECT_NEAR(body.protein_kg(230, 16), 36.2544, 1e-9);
}

// Zhang et al. 2020, day 1, 246 kg: protein 38.7 kg, lipid about 48 kg; with the backfat (16.9 mm) that gives the
// protein, the lipid must come out too (independent of the regression's source; the backfat is inferred).
TEST(BodyComposition, AgreesWithMeasuredBodies) {
  const BodyComposition body{built_in()};
  EXPECT_NEAR(body.protein_kg(246, 16.9), 38.7, 0.3);
  EXPECT_NEAR(body.lipid_kg(246, 16.9), 48, 1);
}

// Backfat per kg of energy-driven change (0.244 mm/kg) agrees with the lipid equation: the lipid of a kg lost, less
// what the lighter body explains (restated, B).
TEST(LysineBalance, LowersTheMilkOfASmallLitterMore) {
  const LysineBalance lysine{built_in()};
  const double of_two_kg = lysine.milk_multiplier(10, 2, 3), of_half_a_kg = lysine.milk_multiplier(10, 0.5, 3);
  EXPECT_LT(of_two_kg, 1);
  EXPECT_NEAR(of_half_a_kg, std::pow(of_two_kg, 4), 1e-12) << "the same gain is lacking in a quarter of it";
  EXPECT_EQ(lysine.milk_multiplier(10, 0, 3), 1) << "no litter, no gain to lack";
  EXPECT_EQ(lysine.milk_multiplier(-10, 0.5, 3), 1) << "a surplus";
}

}  // namespace
}  // namespace farrowtide
