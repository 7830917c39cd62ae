// Rules that every handling policy keeps, run over the whole catalogue. A policy without cases fails.
#include <gtest/gtest.h>

#include <map>

#include "libsim/policy/handling/handling.hpp"
#include "tests/contract/policy_family.hpp"

namespace farrowtide {
namespace {

constexpr int shortest_lactation_d = 17;  // a scenario asks for

const PolicyFamily<HandlingPolicy>& family() {
  static const PolicyFamily<HandlingPolicy> handling{
      "bundled",
      handling_catalogue(),
      {
          {"bundled",
           {"{kind: bundled}", "{kind: bundled, day: 1}", "{kind: bundled, day: 7}", "{kind: bundled, day: 14}"}},
          {"split", {"{kind: split}", "{kind: split, days: [1, 3, 5]}", "{kind: split, days: [1, 4, 7, 14]}"}},
      }};
  return handling;
}

std::shared_ptr<const HandlingPolicy> policy_of(const std::string& keys) { return family().policy(keys); }

template <class Check>
void for_every_policy(Check check) {
  family().for_every(check);
}

// The parts of a litter's processing, by day.
std::map<int, double> plan_of(const HandlingPolicy& policy, int piglets) {
  std::map<int, double> plan;
  for (int day = -5; day <= 60; ++day) {
    const double share = policy.share_of_processing({.lactation_day = day, .piglets = piglets});
    if (share != 0) plan[day] = share;
  }
  return plan;
}

TEST(HandlingContract, TheWholeLitterIsProcessedOnceWithinTheShortestLactation) {
  for_every_policy([](const HandlingPolicy& policy) {
    for (const int piglets : {1, 13, 18}) {
      double sum = 0;
      for (const auto& [day, share] : plan_of(policy, piglets)) {
        EXPECT_GT(share, 0) << "day " << day;
        EXPECT_GE(day, 1) << "newborn";
        EXPECT_LT(day, shortest_lactation_d) << "weaned";
        sum += share;
      }
      EXPECT_NEAR(sum, 1, 1e-12);
    }
  });
}

TEST(HandlingContract, TheSameViewGetsTheSamePlanAndASentence) {
  for_every_policy([](const HandlingPolicy& policy) {
    EXPECT_EQ(plan_of(policy, 12), plan_of(policy, 12));
    EXPECT_GT(policy.describe().size(), 10u);
  });
}

// From the day on that staff.late.processing_late_from_day names (7, an assumption), processing costs the litter
// growth.
TEST(HandlingContract, SaysWhereAPlanCountsAsLate) {
  for_every_policy([](const HandlingPolicy& policy) {
    const bool late = plan_of(policy, 12).rbegin()->first >= 7;
    EXPECT_EQ(policy.describe().find("late from day 7") != std::string::npos, late) << policy.describe();
  });
}

TEST(HandlingContract, SaysTheDaysOfItsPlan) {
  EXPECT_EQ(policy_of("{kind: bundled, day: 4}")->describe(), "litters processed on day 4");
  EXPECT_EQ(policy_of("{kind: split, days: [1, 3, 5]}")->describe(), "processing of litters split over days 1, 3, 5");
}

TEST(HandlingContract, EveryDayAskedForComesWithTheCaution) {
  for (const char* key : {"day", "days"}) {
    EXPECT_NE(family().help(key).find("Pain relief"), std::string::npos) << key;
    EXPECT_NE(family().help(key).find("veterinarian and local law"), std::string::npos) << key;
  }
}

// Common practice, no source: litters are processed on day 3.
TEST(BundledHandling, StandardIsTheTradesDay) {
  EXPECT_EQ(plan_of(*policy_of("{}"), 12), (std::map<int, double>{{3, 1}}));
}

TEST(SplitHandling, SharesTheWorkEqually) {
  EXPECT_EQ(plan_of(*policy_of("{kind: split, days: [2, 4, 6, 8]}"), 12),
            (std::map<int, double>{{2, 0.25}, {4, 0.25}, {6, 0.25}, {8, 0.25}}));
}

TEST(SplitHandling, RefusesDaysOutOfOrderAndASingleOne) {
  for (const char* days : {"[4, 2]", "[3, 3]", "[3]", "[0, 3]", "[3, 15]"})
    EXPECT_THROW(policy_of("{kind: split, days: " + std::string(days) + "}"), ScenarioError) << days;
}

}  // namespace
}  // namespace farrowtide
