// The milk of one day and how the litter shares it, changed in one thing at a time against the same sow unchanged.
#include "libsim/model/milk_of_day.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <numeric>

#include "tests/unit/model/simulated_farm.hpp"

namespace farrowtide {
namespace {

constexpr Time noon = Time{} + 8_d + 12_h;

// Two sows of eleven piglets; the first is looked at.
struct Dairy : PausedFarm {
  explicit Dairy(const Values& values = {})
      : PausedFarm(
            "room: {crates: 2, drinker_blockages: off}\nclimate: {kind: imposed, temperature: 20}\n"
            "herd: {health: off, mortality: off, every_sow: {parity: 3, total_born: 11, farrows_on_day: 2}}\n"
            "fostering: {kind: none}\n",
            noon, values) {}
  DayOfMilk day(int lactation_day = 6, double eaten_kg = 7) {
    return day_of_milk(room(), sow(), lactation_day, eaten_kg);
  }
  Litter& litter() { return sow().litter; }
};

double usual_mcal() { return Dairy().day().milk_mcal; }
double coefficient(const char* path) { return Coefficients::built_in().number(path, "-"); }

TEST(MilkOfDay, IsSharedWhollyAmongThePigletsOfAWellFedSow) {
  Dairy farm;
  const DayOfMilk day = farm.day();
  ASSERT_EQ(day.gain_of_piglets_kg.size(), 11u);
  EXPECT_NEAR(std::accumulate(day.gain_of_piglets_kg.begin(), day.gain_of_piglets_kg.end(), 0.0), day.gain_kg, 1e-9);
  EXPECT_NEAR(day.gain_kg, farm.biology().litter_gain(day.milk_mcal, 11), 1e-9);
  EXPECT_GT(day.gain_kg, 1);
}

TEST(MilkOfDay, FallsWithIllnessThirstAndDaysWithoutFeed) {
  Dairy ill;
  ill.sow().health.fell_ill = noon - 1_d;
  ill.sow().health.severity = 1;
  EXPECT_NEAR(ill.day().milk_mcal / usual_mcal(), coefficient("sow.post_partum_disorder.while_ill.milk_multiplier"),
              1e-9);
  ill.sow().health.recovered = noon;
  Dairy dry;
  dry.sow().water.milk_lost_d = 0.25;
  EXPECT_NEAR(dry.day().milk_mcal / usual_mcal(), 0.75, 1e-9);
  Dairy longer_dry;
  longer_dry.sow().water.milk_lost_d = 1.5;
  EXPECT_EQ(longer_dry.day().milk_mcal, 0);
  Dairy unfed;
  unfed.sow().body.smoothed_intake_mcal = 0;
  EXPECT_EQ(unfed.day().milk_mcal, 0);
}

TEST(MilkOfDay, FallsWithTheProteinThatSheHasLost) {
  Dairy lean;
  lean.sow().body.protein_kg = 0.75 * lean.sow().body.protein_at_farrowing_kg;
  EXPECT_LT(lean.day().milk_mcal, 0.95 * usual_mcal());
  Dairy gained;
  gained.sow().body.protein_kg = 1.1 * gained.sow().body.protein_at_farrowing_kg;
  Dairy kept;
  kept.sow().body.protein_kg = kept.sow().body.protein_at_farrowing_kg;
  EXPECT_EQ(gained.day().milk_mcal, kept.day().milk_mcal) << "more protein makes no more milk";
}

TEST(MilkOfDay, FallsOnTheFirstDaysOnlyOfASowThatDrinksLittle) {
  const int last = Dairy().biology().low_drinker.last_day();
  for (const int day : {1, last, last + 1}) {
    Dairy usual, low;
    low.sow().water.low_drinker = true;
    EXPECT_NEAR(low.day(day).milk_mcal / usual.day(day).milk_mcal,
                day <= last ? coefficient("sow.water.low_drinker.milk_multiplier") : 1, 1e-9)
        << "day " << day;
  }
}

TEST(MilkOfDay, OfTheDayOfFarrowingIsThatOfTheHoursLeft) {
  const auto potential_mcal = [](Duration last_birth) {
    Dairy farm;
    farm.sow().labour.last_birth = noon.start_of_day() + last_birth;
    return farm.day(0).potential_mcal;
  };
  EXPECT_NEAR(potential_mcal(18_h) / potential_mcal(6_h), 6.0 / 18, 1e-9);
  Dairy noon_birth;
  noon_birth.sow().labour.last_birth = noon;
  const DayOfMilk half_day = noon_birth.day(0);
  EXPECT_NEAR(half_day.gain_kg, noon_birth.biology().litter_gain(half_day.milk_mcal / 0.5, 11) / 2, 1e-9);
  Dairy midnight;
  midnight.sow().labour.last_birth = noon.start_of_day();
  Dairy late;
  late.sow().labour.last_birth = noon.start_of_day() + 18_h;
  EXPECT_EQ(midnight.day(1).potential_mcal, late.day(1).potential_mcal) << "later days are whole";
}

TEST(MilkOfDay, FollowsTheSizeOfStrangersAndAnAdoptionForAWhile) {
  Dairy adopted;
  adopted.litter().strangers_at = noon;
  adopted.litter().stranger_mean_kg = adopted.litter().expected_kg = 3;
  adopted.litter().adoption_multiplier = 0.6;
  EXPECT_NEAR(adopted.day().milk_mcal / usual_mcal(), 0.6, 1e-9);
  Dairy larger;
  larger.litter().strangers_at = noon - 1_d;
  larger.litter().stranger_mean_kg = 3.3;
  larger.litter().expected_kg = 3;
  EXPECT_NEAR(larger.day().milk_mcal / usual_mcal(), larger.biology().demand_mismatch(3.3, 3, 1), 1e-9);
  EXPECT_GT(larger.biology().demand_mismatch(3.3, 3, 1), 1);
  Dairy long_ago;
  long_ago.litter().strangers_at = noon - 40_d;
  long_ago.litter().stranger_mean_kg = 5;
  long_ago.litter().expected_kg = 3;
  long_ago.litter().adoption_multiplier = 0.6;
  EXPECT_NEAR(long_ago.day().milk_mcal, usual_mcal(), 1e-9);
}

TEST(MilkOfDay, IsNoMoreThanFeedAndReservesAllow) {
  Dairy farm;
  Sow& sow = farm.sow();
  sow.body.backfat_mm = 6;
  const double most_mcal =
      farm.biology().energy.most_milk_mcal(sow.body.weight_kg, 1, farm.settings().diet, {.backfat_mm = 6, .parity = 3});
  Dairy fat;
  const double wanted_mcal = fat.day(6, 1).milk_mcal;
  EXPECT_NEAR(farm.day(6, 1).milk_mcal, std::min(most_mcal, wanted_mcal), 1e-9);
  Dairy spent;
  spent.sow().body.weight_kg = 0.5 * spent.sow().body.weight_at_loading_kg;
  ASSERT_TRUE(spent.biology().starvation.spent(spent.sow().body.loss_share()));
  EXPECT_LE(spent.day(6, 1).milk_mcal,
            spent.biology().energy.most_milk_mcal(spent.sow().body.weight_kg, 1, spent.settings().diet,
                                                  {.backfat_mm = 0, .parity = 3}) +
                1e-9)
      << "whatever her backfat";
}

TEST(MilkOfDay, GivesALitterThatWasProcessedLateLessGainForTheTimeItIsSetBack) {
  const auto gain_kg = [](Time until) {
    Dairy farm;
    farm.litter().set_back_until = until;
    const DayOfMilk day = farm.day();
    return std::accumulate(day.gain_of_piglets_kg.begin(), day.gain_of_piglets_kg.end(), 0.0);
  };
  const double usual_kg = gain_kg(Time{}), multiplier = Dairy().biology().handling.late_processing_gain_multiplier();
  EXPECT_LT(multiplier, 1);
  EXPECT_NEAR(gain_kg(noon - 1_d + 1_s), multiplier * usual_kg, 1e-9) << "for a part of the day that ends now";
  EXPECT_NEAR(gain_kg(noon - 1_d), usual_kg, 1e-9);
}

// The first piglet of the litter bears a move that halves its growth; its share of the gain.
double share_of_burdened(Dairy& farm) {
  Piglet& piglet = *farm.litter().sucklings.front();
  piglet.move_burden = {.growth = 0.5, .growth_until_age_d = (noon - piglet.born).days() + 1};
  const DayOfMilk day = farm.day();
  return day.gain_of_piglets_kg.front() / day.gain_kg;
}

TEST(MilkOfDay, IsLessForAPigletThatWasMovedUnlessItsWholeLitterWas) {
  Dairy usual;
  const DayOfMilk day = usual.day();
  const double fair_share = day.gain_of_piglets_kg.front() / day.gain_kg;
  Dairy own;
  EXPECT_LT(share_of_burdened(own), 0.8 * fair_share);
  Dairy of_one_other_dam;
  for (Piglet* piglet : of_one_other_dam.litter().sucklings) piglet->dam = &of_one_other_dam.sow(2);
  EXPECT_NEAR(share_of_burdened(of_one_other_dam), fair_share, 1e-9) << "a litter moved as a whole keeps its order";
  Dairy of_two_dams;
  for (Piglet* piglet : of_two_dams.litter().sucklings) piglet->dam = &of_two_dams.sow(2);
  of_two_dams.litter().sucklings.back()->dam = &of_two_dams.sow(1);
  EXPECT_LT(share_of_burdened(of_two_dams), 0.8 * fair_share);
  Dairy grown_out_of_it;
  for (Piglet* piglet : grown_out_of_it.litter().sucklings)
    piglet->move_burden = {.growth = 0.5, .growth_until_age_d = (noon - piglet->born).days()};
  EXPECT_NEAR(grown_out_of_it.day().gain_of_piglets_kg.front() / day.gain_kg, fair_share, 1e-9);
}

TEST(MilkOfDay, IsLessForResidentsThanForTheStrangersWhoJoinedThem) {
  const auto share_of_strangers = [](int strangers, double multiplier) {
    Dairy farm({{"litter.moving.residents.multiplier", multiplier}});
    farm.litter().strangers_at = noon - 1_d;
    farm.litter().strangers = strangers;
    farm.litter().day_of_strangers = 9;
    farm.litter().stranger_mean_kg = farm.litter().expected_kg = 3;
    for (int i = 0; i < 5; ++i) farm.litter().sucklings.at(static_cast<std::size_t>(i))->dam = &farm.sow(2);
    const DayOfMilk day = farm.day();
    return std::accumulate(day.gain_of_piglets_kg.begin(), day.gain_of_piglets_kg.begin() + 5, 0.0) / day.gain_kg;
  };
  EXPECT_GT(share_of_strangers(5, 0.5), 1.1 * share_of_strangers(5, 1));
  EXPECT_EQ(share_of_strangers(1, 0.5), share_of_strangers(1, 1)) << "one stranger makes no difference";
}

// Scours take from a piglet what the equation says; milk that is not suckled is not drawn from the sow.
TEST(MilkOfDay, LeavesInTheUdderWhatAScouringLitterDoesNotSuckle) {
  const auto milk_mcal = [](int scouring, int lactation_day) {
    Dairy farm;
    farm.litter().scoured = scouring;
    for (int i = 0; i < scouring; ++i) farm.litter().sucklings.at(static_cast<std::size_t>(i))->days_scoured = 2;
    const double lost_kg =
        scouring == 0 ? 0 : lost_to_scours_kg(farm.room(), farm.sow(), *farm.litter().sucklings.front(), lactation_day);
    const double lost_mcal =
        scouring * lost_kg * farm.biology().milk_yield.scours_share() * farm.biology().litter_gain.milk_mcal_per_kg();
    const double drawn_mcal = farm.day(lactation_day).milk_mcal;
    return std::pair{drawn_mcal, lost_mcal};
  };
  const auto [healthy_mcal, nothing] = milk_mcal(0, 6);
  EXPECT_EQ(nothing, 0);
  const auto [scouring_mcal, lost_mcal] = milk_mcal(4, 6);
  EXPECT_GT(lost_mcal, 0);
  EXPECT_NEAR(scouring_mcal, healthy_mcal - lost_mcal, 1e-9);
  EXPECT_EQ(milk_mcal(4, 0).first, milk_mcal(0, 0).first) << "not on the day of farrowing";
}

TEST(Scours, CostAPigletKilogramsByItsDaysAndTheShareOfItsLitter) {
  Dairy farm;
  Piglet& piglet = *farm.litter().sucklings.front();
  piglet.days_scoured = 2;
  piglet.scouring = true;
  farm.litter().scoured = 3;
  EXPECT_NEAR(lost_to_scours_kg(farm.room(), farm.sow(), piglet, 6),
              farm.biology().scours.gain_loss_g_per_day(
                  {.lactation_day = 6, .days_ill = 2, .ill_now = true, .share_of_litter_ill = 3.0 / 11}) /
                  1000,
              1e-12);
}

TEST(MilkOfDay, ThatDoesNotFeedTheLitterIsMissedAsAShare) {
  Dairy farm;
  farm.day();
  EXPECT_EQ(farm.litter().unfed_share, 0);
  double need_mcal = 0;
  for (const Piglet* piglet : farm.litter().sucklings) need_mcal += farm.biology().unfed.need_mcal(piglet->weight_kg);
  Dairy dry;
  dry.sow().water.milk_lost_d = 1;
  dry.day();
  EXPECT_EQ(dry.litter().unfed_share, dry.biology().unfed.unfed_share(0, need_mcal));
  EXPECT_GT(dry.litter().unfed_share, 0);
  dry.day(0);
  EXPECT_EQ(dry.litter().unfed_share, 0) << "colostrum feeds it on the first day";
  Dairy half;
  const double full_mcal = usual_mcal(), to_be_left = 0.8 * need_mcal / full_mcal;
  half.sow().water.milk_lost_d = 1 - to_be_left;
  half.day();
  EXPECT_NEAR(half.litter().unfed_share, half.biology().unfed.unfed_share(0.8 * need_mcal, need_mcal), 1e-6);
  EXPECT_GT(half.litter().unfed_share, 0);
}

TEST(MilkOfDay, OfTheFirstWholeDayMayLackTooAndBeLeftByScours) {
  Dairy dry;
  dry.sow().water.milk_lost_d = 1;
  dry.day(1);
  EXPECT_GT(dry.litter().unfed_share, 0);
  const auto milk_mcal = [](int days_scoured) {
    Dairy farm;
    farm.litter().scoured = days_scoured > 0 ? 1 : 0;
    farm.litter().sucklings.front()->days_scoured = days_scoured;
    return farm.day(1).milk_mcal;
  };
  EXPECT_LT(milk_mcal(2), milk_mcal(0));
}

TEST(MilkOfDay, OfAnImposedGainIsSharedByWeightAndCostsItsMilk) {
  PausedFarm farm(
      "room: {crates: 1}\nclimate: {kind: imposed, temperature: 20}\nimposed: {litter_gain: [1.1]}\n"
      "herd: {health: off, mortality: off, every_sow: {parity: 3, total_born: 11, farrows_on_day: 2}}\n",
      noon);
  const Litter& litter = farm.sow().litter;
  const DayOfMilk day = day_of_milk(farm.room(), farm.sow(), 6, 7);
  EXPECT_NEAR(day.gain_kg, 1.1, 1e-9);
  ASSERT_EQ(day.gain_of_piglets_kg.size(), 11u);
  for (std::size_t i = 0; i < 11; ++i)
    EXPECT_NEAR(day.gain_of_piglets_kg[i], 1.1 * litter.sucklings[i]->weight_kg / litter.weight_kg(), 1e-9);
  EXPECT_NEAR(day.milk_mcal, farm.biology().litter_gain.milk_mcal(1.1, 11), 1e-9);
  EXPECT_EQ(litter.unfed_share, 0);
}

}  // namespace
}  // namespace farrowtide
