// What a sow brings with her: by her number, as described where the scenario describes her.
#include "libsim/model/sow_traits.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "tests/unit/model/simulated_farm.hpp"

namespace farrowtide {
namespace {

class Drawn {
 public:
  explicit Drawn(const std::string& yaml) : settings_(SimulatedFarm(yaml).settings()) {}

  SowGenerator generator() const { return {settings_, biology_, draws(), GroupInRoom{}, Time{} + 8_h}; }
  static Draws draws() { return {7, 0}; }
  const Biology& biology() const { return biology_; }

 private:
  FarmSettings settings_;
  Biology biology_{Coefficients::built_in()};
};

TEST(SowTraits, AreTheSameHoweverManyWereDrawnBefore) {
  const Drawn herd("herd: {health: off}\n");
  const SowGenerator one = herd.generator(), other = herd.generator();
  for (int number = 1; number < 5; ++number) static_cast<void>(one(number));
  EXPECT_EQ(one(5).weight_kg, other(5).weight_kg);
  EXPECT_EQ(one(5).onset, other(5).onset);
  EXPECT_NE(one(5).weight_kg, one(6).weight_kg);
}

TEST(SowTraits, AreAsTheScenarioSaysOfHerElseOfEverySow) {
  const Drawn herd("herd: {every_sow: {parity: 3, total_born: 14}, sows: [{total_born: 9, farrows_on_day: 4}]}\n");
  const SowGenerator draw = herd.generator();
  EXPECT_EQ(draw(1).total_born, 9);
  EXPECT_EQ(draw(1).onset.day(), 4);
  EXPECT_EQ(draw(2).total_born, 14);
  EXPECT_EQ(draw(2).parity, 3);
}

TEST(SowTraits, OfANurseSowAreOfOneThatHasRearedALitter) {
  const Drawn herd("herd: {every_sow: {parity: 1}, nurse_sow_day: 9}\n");
  const Time now = Time{} + 12_d;
  const SowTraits nurse = herd.generator().nurse(30, now);
  EXPECT_TRUE(nurse.nurse);
  EXPECT_TRUE(nurse.knows_drinker && nurse.knows_feeder);
  EXPECT_EQ(nurse.parity, 2);
  EXPECT_EQ(now - nurse.onset, 9_d);
}

// Each draw by its own address, so that no policy and no other sow moves it.
TEST(SowTraits, AreDrawnByHerNumberAndTheirPurpose) {
  const Drawn herd("herd: {every_sow: {parity: 3, total_born: 14}}\n");
  const SowTraits sow = herd.generator()(5);
  const Biology& biology = herd.biology();
  const auto z = [](Purpose purpose, std::uint32_t occasion = 0) {
    return Drawn::draws().normal(purpose, 5, occasion);
  };
  const auto effects = biology.sow_effects(
      {z(Purpose::sow_effects, 0), z(Purpose::sow_effects, 1), z(Purpose::sow_effects, 2), z(Purpose::sow_effects, 3)});
  EXPECT_EQ(sow.effects.appetite_log, effects.appetite_log);
  EXPECT_EQ(sow.effects.milk_log, effects.milk_log);
  EXPECT_EQ(sow.effects.farrowing_duration_log, effects.farrowing_duration_log);
  EXPECT_EQ(sow.effects.health_logit, effects.health_logit);
  EXPECT_EQ(sow.appetite_noise, z(Purpose::appetite_noise));
  EXPECT_EQ(sow.start_z, z(Purpose::litter_start));
  EXPECT_EQ(sow.unsteadiness, biology.appetite.variation().unsteadiness(z(Purpose::unsteady_appetite)));
  EXPECT_EQ(sow.gestation_length_d,
            biology.gestation(14, z(Purpose::gestation_of_sow), z(Purpose::gestation_of_farrowing)));
  EXPECT_EQ(sow.start_kind, biology.litter_start.kind(Drawn::draws().uniform(Purpose::bad_start, 5)));
}

TEST(SowTraits, OfANurseSowOfHigherParityKeepIt) {
  const Drawn herd("herd: {every_sow: {parity: 4}}\n");
  EXPECT_EQ(herd.generator().nurse(30, Time{} + 12_d).parity, 4);
}

TEST(SowTraits, OfLegsAndSkillsAreOfHealthAndParity) {
  const Drawn healthy("herd: {health: off, every_sow: {parity: 2}}\n");
  for (int number = 1; number <= 40; ++number) {
    EXPECT_FALSE(healthy.generator()(number).leg_trouble);
    EXPECT_TRUE(healthy.generator()(number).knows_drinker && healthy.generator()(number).knows_feeder);
  }
  const Drawn gilts("herd: {every_sow: {parity: 1}}\n"), strange("herd: {new_feeder: true, every_sow: {parity: 1}}\n");
  int lame = 0, drinker = 0, feeder = 0;
  for (int number = 1; number <= 40; ++number) {
    const SowTraits gilt = gilts.generator()(number);
    lame += gilt.leg_trouble;
    drinker += gilt.knows_drinker;
    EXPECT_TRUE(gilt.knows_feeder) << "the feeder is not new";
    feeder += strange.generator()(number).knows_feeder;
  }
  EXPECT_GT(lame, 0);
  EXPECT_LT(drinker, 40);
  EXPECT_LT(feeder, 40);
}

// The gestation of a sow without fixed day: her due day by the day of service, her own length about the herd's mean.
TEST(SowTraits, OfFarrowingFollowServiceAndGestation) {
  for (const int before_due : {2, 5}) {
    const Drawn herd("loading: {days_before_due: " + std::to_string(before_due) + "}\n");
    bool on_the_first = false;
    for (int number = 1; number <= 30; ++number) {
      const SowTraits sow = herd.generator()(number);
      const double due_d = before_due + 0.5 +
                           herd.biology().gestation.service_offset_d(
                               Drawn::draws().normal(Purpose::service_day, static_cast<std::uint32_t>(number)));
      EXPECT_EQ(sow.due_day, static_cast<int>(std::floor(due_d)));
      const int day =
          static_cast<int>(std::floor(due_d + sow.gestation_length_d - herd.biology().gestation.herd_mean_d()));
      EXPECT_EQ(sow.onset.day(), std::max(1, day)) << "not on the day of loading";
      EXPECT_FALSE(sow.induced);
      on_the_first |= day < 1;
    }
    EXPECT_EQ(on_the_first, before_due == 2) << "a sow that would have farrowed before she was loaded";
  }
}

TEST(SowTraits, OfAnInducedSowAreEarlierByWhatItBringsForward) {
  const std::string herd = "loading: {days_before_due: 5}\n";
  const Drawn natural(herd), induced(herd + "induction: {kind: single, gestation_day: 114, time: \"09:00\"}\n");
  int earlier = 0;
  for (int number = 1; number <= 30; ++number) {
    const SowTraits before = natural.generator()(number), after = induced.generator()(number);
    if (!after.induced) {
      EXPECT_EQ(after.onset, before.onset);
      EXPECT_EQ(after.gestation_length_d, before.gestation_length_d);
      continue;
    }
    ++earlier;
    EXPECT_LT(after.onset, before.onset);
    EXPECT_NEAR(before.gestation_length_d - after.gestation_length_d, (before.onset - after.onset).days(), 1e-9);
    const double delay_h = induced.biology().induction.delay_h(
        InductionSchedule::single, Drawn::draws().normal(Purpose::induction, static_cast<std::uint32_t>(number)));
    const Time given = after.onset - Duration::from_hours(delay_h);
    EXPECT_EQ(given.second_of_day(), 9 * 3600);
  }
  EXPECT_GT(earlier, 3);
}

}  // namespace
}  // namespace farrowtide
