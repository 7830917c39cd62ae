// Piglets that come, go, fall ill and die: what each step changes in the litters concerned.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "libsim/model/litter_mortality.hpp"
#include "libsim/model/litter_risks.hpp"
#include "libsim/model/moving.hpp"
#include "libsim/model/scouring.hpp"
#include "libsim/model/weaning.hpp"
#include "tests/unit/model/simulated_farm.hpp"

namespace farrowtide {
namespace {

constexpr Time noon = Time{} + 8_d + 12_h;

// Two sows that farrowed on days 2 and 3, and one that has not.
struct Nursery : PausedFarm {
  explicit Nursery(const Values& values = {}, Time at = noon, const std::string& mortality = "off")
      : PausedFarm(
            "room: {crates: 3, drinker_blockages: off}\nclimate: {kind: imposed, temperature: 20}\n"
            "staff: {shifts: [{from: \"00:00\", until: \"00:10\", break: 0 min}]}\nfostering: {kind: none}\n"
            "herd: {health: off, mortality: " +
                mortality +
                ", sows: [{parity: 3, total_born: 10, farrows_on_day: 2, functional_teats: 15}, "
                "{parity: 4, total_born: 12, farrows_on_day: 3, functional_teats: 14}, "
                "{parity: 2, total_born: 11, farrows_on_day: 14}]}\n",
            at, values) {}
  Piglet& piglet(int number, std::size_t i) { return *sow(number).litter.sucklings.at(i); }
  bool move(Piglet& whom, int to) { return move_piglet(room(), whom, sow(to)); }
};

TEST(MovedPiglet, IsCountedWhereItGoesAndWhereItComesFrom) {
  Nursery farm;
  Litter &from = farm.sow(1).litter, &to = farm.sow(2).litter;
  Piglet& piglet = farm.piglet(1, 4);
  to.mean_at_midnight_kg = 2.5;
  EXPECT_TRUE(farm.move(piglet, 2));
  EXPECT_EQ(piglet.reared_by, &farm.sow(2));
  EXPECT_EQ(piglet.dam, &farm.sow(1));
  EXPECT_EQ(piglet.moves, 1);
  EXPECT_EQ(from.moved_out, 1);
  EXPECT_EQ(from.moved_in, 0);
  EXPECT_EQ(to.moved_in, 1);
  EXPECT_EQ(from.nursing(), 9);
  EXPECT_EQ(to.nursing(), 13);
  EXPECT_EQ(to.sucklings.back(), &piglet);
  EXPECT_EQ(to.strangers, 1);
  EXPECT_EQ(to.strangers_at, noon);
  EXPECT_EQ(to.day_of_strangers, farm.sow(2).lactation_day(8));
  EXPECT_EQ(to.expected_kg, 2.5);
  EXPECT_NEAR(to.stranger_mean_kg, to.mean_kg(), 1e-12);
  EXPECT_EQ(to.sources, std::vector<const Sow*>{&farm.sow(1)});
  const auto told = farm.events().back();
  EXPECT_EQ(told.what, EventKind::piglet_moved);
  EXPECT_EQ(told.sow, 2);
  EXPECT_EQ(told.piglet, piglet.birth_rank);
  EXPECT_EQ(told.amount, 1) << "its dam";
  EXPECT_EQ(told.detail, piglet.weight_kg);
}

TEST(MovedPiglet, JoinsThoseOfTheSameMinuteAndSucceedsThoseBefore) {
  Nursery farm;
  Litter& to = farm.sow(2).litter;
  farm.move(farm.piglet(1, 0), 2);
  farm.move(farm.piglet(1, 0), 2);
  EXPECT_EQ(to.strangers, 2);
  EXPECT_EQ(to.sources.size(), 1u) << "one dam";
  farm.run_until(noon + 1_min);
  farm.move(farm.piglet(1, 0), 2);
  EXPECT_EQ(to.strangers, 1);
  EXPECT_EQ(to.strangers_at, noon + 1_min);
}

TEST(MovedPiglet, BackToItsDamIsAStrangerThereButNoOtherSource) {
  Nursery farm;
  Piglet& piglet = farm.piglet(1, 0);
  farm.move(piglet, 2);
  farm.run_until(noon + 1_h);
  EXPECT_TRUE(farm.move(piglet, 1));
  EXPECT_EQ(piglet.moves, 2);
  EXPECT_TRUE(farm.sow(1).litter.sources.empty());
  EXPECT_EQ(farm.sow(1).litter.strangers, 1);
}

TEST(MovedPiglet, StaysWhereItCannotGo) {
  Nursery farm;
  Piglet& piglet = farm.piglet(1, 0);
  EXPECT_FALSE(farm.move(piglet, 1)) << "it is there";
  EXPECT_FALSE(farm.move(piglet, 3)) << "she has not farrowed";
  farm.sow(2).left.reach();
  EXPECT_FALSE(farm.move(piglet, 2)) << "she has left";
  Nursery other;
  Piglet& dead = other.piglet(1, 0);
  die(other.room(), other.sow(1), dead, DeathCause::other);
  EXPECT_FALSE(other.move(dead, 2));
  EXPECT_EQ(other.sow(2).litter.moved_in, 0);
}

TEST(MovedPiglet, ToASowWithoutALitterMayBeRefusedAfterHerFirstDay) {
  const auto accepted = [](int lactation_day, double refuses) {
    Nursery farm({{"litter.moving.refusal.refuses", refuses},
                  {"litter.moving.refusal.milk_drops", 1},
                  {"litter.moving.refusal.milk_drop_multiplier", 0.7}});
    Sow& to = farm.sow(2);
    while (to.litter.nursing() > 0) die(farm.room(), to, *to.litter.sucklings.front(), DeathCause::other);
    to.day_0 = 8 - lactation_day;
    const bool accepts = farm.move(farm.piglet(1, 0), 2);
    EXPECT_EQ(to.litter.adoption_multiplier, accepts && lactation_day > 1 ? 0.7 : 1);
    return accepts;
  };
  EXPECT_TRUE(accepted(1, 1)) << "too early to tell them apart";
  EXPECT_FALSE(accepted(2, 1));
  EXPECT_TRUE(accepted(2, 0));
}

TEST(MovedPiglet, BringsScoursByThePrevalenceOfWhereItComesFrom) {
  const auto breaks_out = [](int scouring, bool scoured_before, double reference_prevalence) {
    Nursery farm({{"litter.moving.disease.reference_prevalence", reference_prevalence}});
    for (int i = 0; i < scouring; ++i) farm.piglet(1, static_cast<std::size_t>(i)).scouring = true;
    farm.sow(2).litter.has_scoured = scoured_before;
    farm.move(farm.piglet(1, 0), 2);
    return farm.sow(2).litter.has_scoured && !scoured_before;
  };
  EXPECT_TRUE(breaks_out(5, false, 1e-9));
  EXPECT_FALSE(breaks_out(5, true, 1e-9));
  EXPECT_FALSE(breaks_out(0, false, 1e-9));
  EXPECT_FALSE(breaks_out(5, false, 1e9));
}

// A piglet at least a week old that finds every usable teat taken bears more than one that finds a free one.
TEST(MovedPiglet, OfAWeekBearsMoreWhereEveryTeatIsTaken) {
  const auto growth = [](int functional_teats) {
    Nursery farm({}, Time{} + 11_d);
    farm.sow(2).litter.teats.functional = functional_teats;
    std::ranges::fill(farm.sow(2).litter.teats.suckled_on_day, functional_teats);
    Piglet& piglet = farm.piglet(1, 0);
    EXPECT_TRUE(farm.move(piglet, 2));
    return piglet.move_burden.growth;
  };
  EXPECT_LT(growth(12), growth(13));
}

TEST(Leaving, KeepsThresholdsAndColostrumForTheNextSow) {
  Nursery farm;
  Piglet& piglet = farm.piglet(1, 2);
  const double colostrum_g = piglet.colostrum_g;
  const PerCause left = leave_litter(farm.room(), farm.sow(1), piglet);
  EXPECT_EQ(left, piglet.thresholds) << "no hazards where nobody dies";
  EXPECT_EQ(piglet.colostrum_g, piglet.colostrum_before_g);
  EXPECT_NEAR(piglet.colostrum_g, colostrum_g, 1e-6) << "it was a week old and had drunk it all";
  EXPECT_EQ(farm.sow(1).litter.nursing(), 9);
}

TEST(Hazards, KillWhenTheirThresholdIsReached) {
  Nursery farm({}, noon, "on");
  Litter& litter = farm.sow(1).litter;
  Piglet& piglet = farm.piglet(1, 0);
  const double crushed_per_day = litter.hazards.rates(piglet.slot)[static_cast<std::size_t>(DeathCause::crushed)];
  litter.hazards.remove(piglet.slot);
  piglet.slot = litter.hazards.add({0.01 * crushed_per_day, 50, 50, 50});
  settle_litter(farm.room(), farm.sow(1));
  const int nursing = litter.nursing();
  farm.run_until(noon + 863_s);
  EXPECT_EQ(piglet.life, Life::alive);
  farm.run_until(noon + 864_s);
  EXPECT_EQ(piglet.life, Life::dead) << "a hundredth of a day";
  EXPECT_EQ(piglet.cause, DeathCause::crushed);
  EXPECT_EQ(litter.nursing(), nursing - 1);
}

TEST(Hazards, OfTheOthersFallWhenADeathFreesATeat) {
  Nursery farm({}, noon, "on");
  Litter& litter = farm.sow(1).litter;
  Piglet &dying = farm.piglet(1, 0), &mate = farm.piglet(1, 1);
  const int nursing = litter.nursing();
  litter.teats.functional = nursing - 1;
  std::ranges::fill(litter.teats.suckled_on_day, nursing - 1);
  litter.hazards.remove(dying.slot);
  dying.slot = litter.hazards.add({1e-6, 50, 50, 50});
  settle_litter(farm.room(), farm.sow(1));
  farm.run_until(noon);
  const auto crushed_per_day = [&] {
    return litter.hazards.rates(mate.slot)[static_cast<std::size_t>(DeathCause::crushed)];
  };
  const double crowded = crushed_per_day();
  farm.run_until(noon + 1_h);
  ASSERT_EQ(dying.life, Life::dead);
  ASSERT_EQ(litter.nursing(), nursing - 1);
  EXPECT_LT(crushed_per_day(), 0.99 * crowded);
}

// Birth frailty stays with a piglet, whoever rears it: a log hazard.
TEST(Hazards, OfAFosteredPigletAreThoseOfItsOwnDam) {
  const auto crushed_per_day = [](double frailty_of_dam, double frailty_of_sow) {
    Nursery farm({}, noon, "on");
    farm.sow(2).litter.birth_frailty = frailty_of_dam;
    farm.sow(1).litter.birth_frailty = frailty_of_sow;
    Piglet& piglet = farm.piglet(2, 0);
    EXPECT_TRUE(farm.move(piglet, 1));
    farm.run_until(noon);
    return farm.sow(1).litter.hazards.rates(piglet.slot)[static_cast<std::size_t>(DeathCause::crushed)];
  };
  EXPECT_NEAR(crushed_per_day(1, 0) / crushed_per_day(0, 0), std::exp(1), 1e-9);
  EXPECT_EQ(crushed_per_day(0, 1), crushed_per_day(0, 0));
}

TEST(Hazards, ChangeAtTheHourInWhichAPigletIsADayOld) {
  Nursery farm({}, noon, "on");
  Piglet& piglet = farm.piglet(1, 0);
  piglet.born = noon + 1_h - 1_d;
  settle_litter(farm.room(), farm.sow(1));
  farm.run_until(noon);
  const auto crushed_per_day = [&] {
    return farm.sow(1).litter.hazards.rates(piglet.slot)[static_cast<std::size_t>(DeathCause::crushed)];
  };
  const double newborn = crushed_per_day();
  farm.run_until(noon + 1_h - 1_s);
  EXPECT_EQ(crushed_per_day(), newborn);
  farm.run_until(noon + 1_h + 1_s);
  ASSERT_EQ(piglet.life, Life::alive);
  EXPECT_LT(crushed_per_day(), newborn);
}

TEST(Risks, CountSurplusPigletsAndTheSowsHealth) {
  Nursery farm;
  Sow& sow = farm.sow(2);
  EXPECT_EQ(rearing_risk(farm.room(), sow).surplus_piglets, 0);
  sow.litter.teats.functional = 9;
  std::ranges::fill(sow.litter.teats.suckled_on_day, 9);
  EXPECT_EQ(rearing_risk(farm.room(), sow).surplus_piglets, 3);
  const RearingRisk healthy = rearing_risk(farm.room(), sow);
  EXPECT_EQ(healthy.parity, 4);
  EXPECT_EQ(healthy.room_deg_c, 20);
  EXPECT_FALSE(healthy.sow_ill || healthy.sow_lame || healthy.low_drinker);
  sow.water.low_drinker = true;
  sow.day_0 = 8 - 3;
  EXPECT_TRUE(rearing_risk(farm.room(), sow).low_drinker);
  sow.day_0 = 8 - 4;
  EXPECT_FALSE(rearing_risk(farm.room(), sow).low_drinker) << "while that counts";
}

TEST(Risks, OfAPigletAreAgainstItsLittermates) {
  Nursery farm;
  Sow& sow = farm.sow(1);
  for (Piglet* piglet : sow.litter.sucklings) piglet->weight_kg = 3;
  Piglet& light = farm.piglet(1, 0);
  light.weight_kg = 2;
  const auto risk = [&](Piglet& piglet) { return piglet_risk(farm.room(), sow, piglet, sow.litter.weight_kg(), 6); };
  EXPECT_NEAR(risk(light).kg_below_mates, 1, 1e-12);
  EXPECT_NEAR(risk(farm.piglet(1, 1)).kg_below_mates, (8 * 3 + 2) / 9.0 - 3, 1e-12);
  while (sow.litter.nursing() > 1) die(farm.room(), sow, *sow.litter.sucklings.back(), DeathCause::other);
  EXPECT_EQ(risk(light).kg_below_mates, 0) << "it has no mates";
}

TEST(Risks, OfHungerAndOfManySources) {
  Nursery farm({{"litter.moving.survival.many_sources", 0.4}, {"litter.moving.survival.many_sources_from", 2}});
  Sow& sow = farm.sow(2);
  Piglet &own = farm.piglet(2, 0), &moved = farm.piglet(1, 0);
  own.birth_weight_kg = moved.birth_weight_kg = 0.9;
  farm.move(moved, 2);
  moved.move_burden = own.move_burden = {.log_hazard = 0.1, .log_hazard_until_age_d = 10};
  const auto risk = [&](Piglet& piglet, double age_d = 6) {
    return piglet_risk(farm.room(), sow, piglet, sow.litter.weight_kg(), age_d);
  };
  EXPECT_EQ(risk(moved).moved, 0.1);
  sow.litter.sources.push_back(&farm.sow(3));
  EXPECT_NEAR(risk(moved).moved, 0.5, 1e-12);
  EXPECT_EQ(risk(own).moved, 0.1) << "it lives with its own dam";
  EXPECT_EQ(risk(own, 10).moved, 0) << "it is over";
  EXPECT_EQ(risk(own).unfed, 0);
  sow.litter.unfed_share = 0.5;
  EXPECT_NEAR(risk(own).unfed, 0.5 * farm.biology().unfed.death_per_day(6), 1e-12);
}

TEST(Scours, LastUntilTheirMidnightAndShorterIfTreated) {
  const auto broken_out = [](Time at) {
    Nursery farm({{"litter.scours.attack", 1}}, at);
    break_out(farm.room(), farm.sow(2));
    EXPECT_TRUE(farm.sow(2).litter.has_scoured);
    EXPECT_EQ(farm.sow(2).litter.scoured, farm.sow(2).litter.scouring());
    EXPECT_GT(farm.sow(2).litter.scoured, 0);
    for (const Piglet* piglet : farm.sow(2).litter.sucklings) {
      if (!piglet->scouring) continue;
      EXPECT_EQ(piglet->scours_until.second_of_day(), 0);
      EXPECT_TRUE(piglet->has_scoured);
      EXPECT_LE(piglet->scours_until_if_treated, piglet->scours_until);
      const double days = (piglet->scours_until_if_treated - at).days();
      EXPECT_NEAR(days, std::round(days), 0.5) << "counted from the nearest midnight";
      EXPECT_GE(piglet->scours_until_if_treated, (at + 12_h).start_of_day() + 1_d);
    }
  };
  broken_out(Time{} + 8_d + 11_h);
  broken_out(Time{} + 8_d + 13_h);
  Nursery farm;
  Piglet &ill = farm.piglet(2, 0), &well = farm.piglet(2, 1);
  ill.scouring = true;
  for (Piglet* piglet : {&ill, &well}) {
    piglet->scours_until = Time{} + 12_d;
    piglet->scours_until_if_treated = Time{} + 10_d;
  }
  treat_scours(farm.room(), farm.sow(2));
  EXPECT_EQ(ill.scours_until, Time{} + 10_d);
  EXPECT_EQ(well.scours_until, Time{} + 12_d);
  farm.run_until(Time{} + 9_d);
  EXPECT_TRUE(ill.scouring);
  EXPECT_EQ(ill.days_scoured, 1);
  EXPECT_EQ(well.days_scoured, 0);
  farm.run_until(Time{} + 10_d);
  EXPECT_FALSE(ill.scouring);
  EXPECT_EQ(ill.days_scoured, 2);
}

TEST(Weaning, NotesTheLitterAndTheNextCycle) {
  Nursery farm({}, Time{} + 15_d);
  Sow& sow = farm.sow(1);
  const double litter_kg = sow.litter.weight_kg();
  wean(farm.room(), sow, SowFate::weaned_late);
  EXPECT_TRUE(sow.left.reached());
  ASSERT_TRUE(sow.departure);
  EXPECT_EQ(sow.departure->fate, SowFate::weaned_late);
  EXPECT_EQ(sow.departure->at, Time{} + 15_d);
  EXPECT_EQ(sow.departure->weaned, 10);
  EXPECT_EQ(sow.departure->litter_weight_kg, litter_kg);
  EXPECT_TRUE(sow.departure->next_cycle);
  for (const Piglet* piglet : sow.litter.sucklings) {
    EXPECT_EQ(piglet->fate, PigletFate::weaned);
    EXPECT_EQ(piglet->weaning_weight_kg, piglet->weight_kg);
    EXPECT_EQ(piglet->age_at_weaning_d, (Time{} + 15_d - piglet->born).days());
  }
  const auto told = farm.events().back();
  EXPECT_EQ(told.what, EventKind::litter_weaned);
  EXPECT_EQ(told.sow, 1);
  EXPECT_EQ(told.amount, litter_kg);
  EXPECT_EQ(told.detail, 10);
}

// By hand: six days of lactation with 4 kg, one of them without feed, and a loss of 18 of 240 kg.
TEST(Weaning, JudgesTheNextCycleByThePastOne) {
  Nursery farm({}, Time{} + 15_d);
  Sow& sow = farm.sow(1);
  const int day_0 = sow.reference_day();
  sow.days.clear();
  for (int day = 0; day <= 6; ++day)
    sow.days.push_back({.calendar_day = day_0 + day,
                        .eaten_kg = day == 0   ? 9.0
                                    : day == 3 ? 0.0
                                               : 4.0,
                        .effective_temperature_deg_c = 22});
  sow.body.weight_at_farrowing_kg = 240;
  sow.body.weight_kg = 222;
  sow.labour.last_birth = sow.traits.onset + 250_min;
  sow.day_0 = day_0;
  const double length_d = 15 - day_0;
  const LactationPast past{.parity = 3,
                           .piglets = 10,
                           .intake_kg_per_day = 20.0 / 6,
                           .lactation_length_d = length_d,
                           .weight_loss_pct = 7.5,
                           .weight_loss_kg_per_day = 18 / length_d,
                           .farrowing_duration_min = 250,
                           .early_intake_kg_per_day = 20.0 / 6,
                           .zero_feed_day_early = true,
                           .effective_temperature_deg_c = 22,
                           .lame = sow.lame()};
  const Biology& biology = farm.biology();
  const auto interval_d = biology.weaning_to_oestrus(past, farm.room().draws.uniform(Purpose::oestrus, 1));
  wean(farm.room(), sow, SowFate::weaned);
  ASSERT_TRUE(sow.departure->next_cycle);
  const NextCycle& next = *sow.departure->next_cycle;
  EXPECT_NEAR(next.removal_risk, biology.removal_risk(past, interval_d), 1e-12);
  ASSERT_TRUE(interval_d) << "a sow that shows oestrus";
  EXPECT_EQ(next.weaning_to_oestrus_d, *interval_d);
  EXPECT_NEAR(*next.farrowing_rate, biology.farrowing_rate(past, *interval_d), 1e-12);
  EXPECT_NEAR(*next.total_born_change, biology.next_total_born(past, biology.usual_weight_loss_kg_per_day), 1e-12);
}

TEST(Weaning, WithoutAWholeDayOfLactationLeavesTheNextCycleOpen) {
  Nursery farm({}, Time{} + 15_d);
  farm.sow(1).days.clear();
  wean(farm.room(), farm.sow(1), SowFate::weaned);
  EXPECT_FALSE(farm.sow(1).departure->next_cycle);
}

// The earlier of its own birth and the last birth of the sow it comes to.
TEST(Colostrum, OfAMovedPigletIsDrunkByTheEarlierClock) {
  Nursery farm({}, Time{} + 4_d);
  const auto clock_start_h = [&](Piglet& piglet, int to) {
    EXPECT_TRUE(farm.move(piglet, to));
    return farm.sow(to).litter.colostrum.piglets.at(piglet.teat).clock_start_h;
  };
  Piglet &older = farm.piglet(1, 0), &younger = farm.piglet(2, 0);
  ASSERT_LT(older.born, farm.sow(2).labour.last_birth);
  ASSERT_GT(younger.born, farm.sow(1).labour.last_birth);
  EXPECT_EQ(clock_start_h(older, 2), older.born.since_start().hours());
  EXPECT_EQ(clock_start_h(younger, 1), farm.sow(1).labour.last_birth.since_start().hours());
  EXPECT_EQ(clock_start_h(older, 1), older.born.since_start().hours()) << "back at its dam";
}

TEST(Leaving, OfASowThatDiedHasNoWeaning) {
  Nursery farm({}, Time{} + 15_d);
  leave(farm.room(), farm.sow(1), SowFate::died);
  EXPECT_EQ(farm.sow(1).departure->weaned, 0);
  EXPECT_FALSE(farm.sow(1).departure->litter_weight_kg);
  EXPECT_FALSE(farm.sow(1).departure->next_cycle);
}

}  // namespace
}  // namespace farrowtide
