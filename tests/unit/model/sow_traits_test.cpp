// What a sow brings with her: by her number, as described where the scenario describes her.
#include "libsim/model/sow_traits.hpp"

#include <gtest/gtest.h>

#include "tests/unit/model/simulated_farm.hpp"

namespace farrowtide {
namespace {

class Drawn {
 public:
  explicit Drawn(const std::string& yaml) : settings_(SimulatedFarm(yaml).settings()) {}

  SowGenerator generator() const { return {settings_, biology_, Draws{7, 0}, GroupInRoom{}, Time{} + 8_h}; }

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

}  // namespace
}  // namespace farrowtide
