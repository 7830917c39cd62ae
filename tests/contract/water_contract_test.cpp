// Rules that every water policy keeps, run over the whole catalogue. A policy without cases fails.
#include <algorithm>
#include <cmath>

#include "libsim/policy/water/water.hpp"
#include "tests/contract/policy_family.hpp"

namespace farrowtide {
namespace {

constexpr int crates = 24, last_day = 60;

const PolicyFamily<WaterPolicy>& water() {
  static const PolicyFamily<WaterPolicy> family{
      "every_drinker",
      water_catalogue(),
      {{"every_drinker",
        {"{kind: every_drinker}", "{kind: every_drinker, every: 0}", "{kind: every_drinker, every: 7}",
         "{kind: every_drinker, action_limit: 2 L/min}"}},
       {"in_turn", {"{kind: in_turn}", "{kind: in_turn, every: 2}", "{kind: in_turn, every: 30, action_limit: 0}"}},
       {"on_suspicion", {"{kind: on_suspicion}", "{kind: on_suspicion, action_limit: 1.5 L/min}"}}}};
  return family;
}

// Mornings on which the drinker of a sow that nobody worries about is looked at.
std::vector<int> mornings(const WaterPolicy& policy, int crate, bool flagged = false) {
  std::vector<int> days;
  for (int day = 1; day <= last_day; ++day) {
    const bool looked_at = !days.empty();
    if (policy.check({.day = day, .crate = crate, .crates = crates, .sow_flagged = flagged, .looked_at = looked_at}))
      days.push_back(day);
  }
  return days;
}

TEST(EveryDrinker, SaysHowOftenItChecks) {
  const auto said = [](const std::string& keys) { return water().policy(keys)->describe(); };
  EXPECT_EQ(said("{kind: every_drinker, every: 0}"), "no drinkers checked");
  EXPECT_TRUE(said("{kind: every_drinker, every: 1}").starts_with("every drinker checked every day, "));
  EXPECT_TRUE(said("{kind: every_drinker, every: 7}").starts_with("every drinker checked every 7 days, "));
}

TEST(WaterContract, SaysWhichDrinkersAreRepaired) {
  for (const std::string kind : {"every_drinker", "in_turn", "on_suspicion"}) {
    const auto said = [&](const std::string& limit) {
      return water().policy("{kind: " + kind + ", action_limit: " + limit + "}")->describe();
    };
    EXPECT_TRUE(said("1.5 L/min").ends_with("those below 1.5 L/min repaired")) << said("1.5 L/min");
    EXPECT_TRUE(said("0").ends_with("clogged ones repaired")) << said("0");
  }
}

TEST(WaterContract, TheLimitIsAFlowThatADrinkerCanGive) {
  water().for_every([](const WaterPolicy& policy) {
    EXPECT_GE(policy.action_limit_l_per_min(), 0);
    EXPECT_LE(policy.action_limit_l_per_min(), 10);
  });
}

TEST(WaterContract, NoCrateIsLookedAtMoreOftenThanAnother) {
  water().for_every([](const WaterPolicy& policy) {
    const auto first = mornings(policy, 1).size();
    for (int crate = 2; crate <= crates; ++crate)
      EXPECT_LE(std::abs(static_cast<int>(mornings(policy, crate).size()) - static_cast<int>(first)), 1) << crate;
  });
}

TEST(WaterContract, ASowInTroubleDoesNotLoseHerCheck) {
  water().for_every([](const WaterPolicy& policy) {
    for (int crate = 1; crate <= crates; ++crate)
      EXPECT_TRUE(std::ranges::includes(mornings(policy, crate, true), mornings(policy, crate)));
  });
}

TEST(WaterContract, TheSameViewGetsTheSameDecisionAndASentence) {
  water().for_every([](const WaterPolicy& policy) {
    for (const int crate : {1, 2, 17}) EXPECT_EQ(mornings(policy, crate), mornings(policy, crate));
    EXPECT_GT(policy.describe().size(), 10u);
  });
}

// Each drinker once in every window of that many days, and of each room an equal share every morning.
TEST(EveryDrinkerAndInTurn, SeeEachDrinkerWithinItsInterval) {
  for (const std::string kind : {"every_drinker", "in_turn"}) {
    for (const int every : {2, 5, 7, 30}) {
      const auto policy = water().policy("{kind: " + kind + ", every: " + std::to_string(every) + "}");
      for (int crate = 1; crate <= crates; ++crate) {
        const auto days = mornings(*policy, crate);
        ASSERT_FALSE(days.empty());
        EXPECT_LE(days.front(), every);
        for (std::size_t i = 1; i < days.size(); ++i) EXPECT_EQ(days[i] - days[i - 1], every);
      }
    }
  }
}

TEST(InTurn, SharesTheWorkEquallyOverTheMornings) {
  const auto policy = water().policy("{kind: in_turn, every: 6}");
  for (int day = 1; day <= last_day; ++day) {
    int looked_at = 0;
    for (int crate = 1; crate <= crates; ++crate)
      looked_at += policy->check({.day = day, .crate = crate, .crates = crates});
    EXPECT_EQ(looked_at, crates / 6) << day;
  }
}

// Common practice, no source: every drinker every day; a clogged one is mended and the flow otherwise left as it is.
TEST(EveryDrinker, StandardIsEveryDayAndMendsCloggedOnesOnly) {
  const auto policy = water().policy("{}");
  EXPECT_EQ(mornings(*policy, 3).size(), static_cast<std::size_t>(last_day));
  EXPECT_EQ(policy->action_limit_l_per_min(), 0);
  EXPECT_TRUE(mornings(*water().policy("{every: 0}"), 3, true).empty()) << "never";
  EXPECT_NE(water().help("every").find("local law"), std::string::npos);
}

// Common practice, no source: about 2 L/min.
TEST(InTurnAndOnSuspicion, PutRightWhatGivesLessThanTheTradesFlow) {
  for (const char* kind : {"{kind: in_turn}", "{kind: on_suspicion}"})
    EXPECT_EQ(water().policy(kind)->action_limit_l_per_min(), 2) << kind;
}

TEST(OnSuspicion, LooksAtAllOnceAndThenOnlyWhereASowIsInTrouble) {
  const auto policy = water().policy("{kind: on_suspicion}");
  EXPECT_EQ(mornings(*policy, 5), std::vector{1});
  EXPECT_EQ(mornings(*policy, 5, true).size(), static_cast<std::size_t>(last_day));
}

TEST(OnSuspicion, LooksAtADrinkerLaterWhereNobodyGotToItInTime) {
  const auto policy = water().policy("{kind: on_suspicion}");
  for (const int day : {1, 2, 9}) {
    EXPECT_TRUE(policy->check({.day = day, .looked_at = false})) << day;
    EXPECT_FALSE(policy->check({.day = day, .looked_at = true})) << day;
  }
}

}  // namespace
}  // namespace farrowtide
