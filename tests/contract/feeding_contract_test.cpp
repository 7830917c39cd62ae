// Rules that every feeding policy keeps, run over the whole catalogue. A policy without cases fails.
#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <optional>

#include "libsim/policy/feeding/feeding.hpp"
#include "tests/contract/policy_family.hpp"

namespace farrowtide {
namespace {

// Settings to try of each policy; "{}" is its default. A new policy adds its own here.
const PolicyFamily<FeedingPolicy>& family() {
  static const PolicyFamily<FeedingPolicy> feeding{
      "hand",
      feeding_catalogue(),
      {
          {"hand",
           {"{kind: hand}", "{kind: hand, times: [\"07:00\"]}",
            "{kind: hand, times: [\"06:00\", \"11:00\", \"16:00\", \"21:00\"], water_added: true}",
            "{kind: hand, allowance: {rule: flat, amount: 6 kg/d}}",
            "{kind: hand, allowance: {rule: by_day, amounts: [2, 3, 4.5, 6]}}",
            "{kind: hand, pre_farrow: {times: [\"08:00\"], allowance: 3 kg/d}}",
            "{kind: hand, allowance: {rule: by_trough}}", "{kind: hand, remove_stale: never}",
            "{kind: hand, night_top_up: \"22:00\", top_up: 1.5 kg}"}},
          {"drops",
           {"{kind: drops}", "{kind: drops, look: \"10:30\", allowance: {rule: by_trough}, remove_stale: never}",
            "{kind: drops, night_top_up: \"23:30\", times: [\"00:00\", \"02:00\", \"04:00\", \"06:00\", \"08:00\", "
            "\"10:00\", \"12:00\", \"14:00\", \"16:00\", \"18:00\", \"20:00\", \"22:00\"]}"}},
          {"full_access",
           {"{kind: full_access}", "{kind: full_access, from_day: -2}", "{kind: full_access, from_day: 3, wet: true}",
            "{kind: full_access, from_day: 5, allowance: {rule: by_trough}}"}},
      }};
  return feeding;
}

std::shared_ptr<const FeedingPolicy> policy_of(const std::string& keys) { return family().policy(keys); }

template <class Check>
void for_every_policy(Check check) {
  family().for_every(check);
}

std::vector<FeedingView> views(const FeedingPolicy& policy) {
  std::vector<FeedingView> all;
  for (const bool farrowed : {false, true}) {
    for (int day = farrowed ? 0 : -6; day <= (farrowed ? 28 : 3); ++day) {
      for (const Duration round : policy.rounds()) {
        for (const double in_trough_kg : {0.0, 1.5, 4.0}) {
          all.push_back({.parity = 2,
                         .farrowed = farrowed,
                         .day = day,
                         .round = round,
                         .backfat_mm = 16,
                         .in_trough_kg = in_trough_kg});
        }
      }
    }
  }
  return all;
}

TEST(FeedingContract, RoundsRiseWithinTheDayAndHoldThePreFarrowOnes) {
  for_every_policy([](const FeedingPolicy& policy) {
    const auto rounds = policy.rounds();
    ASSERT_FALSE(rounds.empty());
    EXPECT_TRUE(std::ranges::is_sorted(rounds));
    EXPECT_EQ(std::ranges::adjacent_find(rounds), rounds.end()) << "a round twice";
    EXPECT_GE(rounds.front(), 0_h);
    EXPECT_LT(rounds.back(), 24_h);
    for (const Duration round : policy.pre_farrow_rounds()) EXPECT_TRUE(std::ranges::binary_search(rounds, round));
  });
}

TEST(FeedingContract, OffersAreFiniteAndNoSowIsForgotten) {
  for_every_policy([](const FeedingPolicy& policy) {
    std::map<std::pair<bool, int>, int> visits;
    for (const FeedingView& view : views(policy)) {
      const auto decision = policy.decide(view);
      visits[{view.farrowed, view.day}] += decision.has_value();
      if (!decision) continue;
      EXPECT_GE(decision->offer_kg, 0);
      EXPECT_LE(decision->offer_kg, 20) << "more than any sow eats in two days";
      EXPECT_TRUE(decision->access == FeedAccess::by_hand || decision->offer_kg == 0);
    }
    for (const auto& [day, count] : visits) EXPECT_GT(count, 0) << "nobody looks at her on day " << day.second;
  });
}

TEST(FeedingContract, TheSameViewGetsTheSameDecision) {
  for_every_policy([](const FeedingPolicy& policy) {
    std::vector<std::optional<FeedingDecision>> first;
    for (const FeedingView& view : views(policy)) first.push_back(policy.decide(view));
    std::size_t i = 0;
    for (const FeedingView& view : views(policy)) {
      const auto again = policy.decide(view);
      ASSERT_EQ(again.has_value(), first[i].has_value());
      if (again) {
        EXPECT_EQ(again->offer_kg, first[i]->offer_kg);
        EXPECT_EQ(again->access, first[i]->access);
      }
      ++i;
    }
  });
}

TEST(FeedingContract, SaysWhatItDoes) {
  for_every_policy([](const FeedingPolicy& policy) { EXPECT_GT(policy.describe().size(), 10u); });
  for (const std::string kind : {"hand", "drops", "full_access"}) {
    const auto as_usual = policy_of("{kind: " + kind + "}")->describe();
    EXPECT_NE(policy_of("{kind: " + kind + ", pre_farrow: {allowance: 1.8 kg/d}}")->describe(), as_usual);
    EXPECT_NE(policy_of("{kind: " + kind + ", pre_farrow: {times: [\"07:00\"]}}")->describe(), as_usual);
  }
}

TEST(FeedingContract, SaysHowMuchInHowManyFeeds) {
  const auto says = [](const std::string& keys, const char* words) {
    const std::string said = policy_of("{kind: hand, " + keys + "}")->describe();
    EXPECT_NE(said.find(words), std::string::npos) << said;
  };
  says("pre_farrow: {times: [\"07:00\"], allowance: 2.5 kg/d}", "before farrowing 2.5 kg/d in 1 feed");
  says("pre_farrow: {times: [\"07:00\", \"15:00\"], allowance: 2.5 kg/d}", "before farrowing 2.5 kg/d in 2 feeds");
  says("allowance: {start: 2 kg/d, step: 0.5 kg/d, max: 7 kg/d}", "2 kg/d on day 1, 0.5 kg more each day up to 7 kg/d");
  says("allowance: {rule: by_day, amounts: [2, 3, 4.5]}", "set day by day, from 2 to 4.5 kg/d");
  EXPECT_EQ(policy_of("{kind: hand, pre_farrow: {times: [\"07:00\"]}}")->describe().find("1 feeds"), std::string::npos);
}

// A policy of one's own that says only what it must.
class TwoKilograms final : public FeedingPolicy {
 public:
  std::span<const Duration> rounds() const override { return rounds_; }
  std::span<const Duration> pre_farrow_rounds() const override { return rounds_; }
  std::optional<FeedingDecision> decide(const FeedingView&) const override {
    return FeedingDecision{FeedAccess::by_hand, 2};
  }
  bool wet() const override { return false; }
  std::string describe() const override { return "2 kg once a day"; }

 private:
  std::vector<Duration> rounds_ = {7_h};
};

TEST(FeedingPolicy, OfOnesOwnAsksForNoWorkBesideItsRoundsButFreshTroughs) {
  const TwoKilograms policy;
  EXPECT_FALSE(policy.checks_troughs());
  EXPECT_FALSE(policy.at_trough_check({.day = 5, .offered_kg = 2, .left_kg = 2}));
  EXPECT_FALSE(policy.dropped_by_machine());
  EXPECT_FALSE(policy.machine_look_at());
  EXPECT_FALSE(policy.reads_feeders());
  EXPECT_TRUE(policy.removes_stale_feed());
}

TEST(FullAccess, SaysFromWhenOn) {
  const auto said = [](const std::string& from_day) {
    return policy_of("{kind: full_access, from_day: " + from_day + "}")->describe();
  };
  EXPECT_NE(said("0").find("feed always available from farrowing; "), std::string::npos);
  EXPECT_NE(said("3").find("feed always available from day 3; "), std::string::npos);
  EXPECT_TRUE(said("-2").ends_with("feed always available from 2 days before the due date"));
}

TEST(FeedingContract, OnlyAMachinesTroughsAreLookedAtOnceADay) {
  for_every_policy([](const FeedingPolicy& policy) {
    const auto look = policy.machine_look_at();
    EXPECT_EQ(look.has_value(), policy.dropped_by_machine());
    if (look) {
      EXPECT_GE(*look, 0_h);
      EXPECT_LT(*look, 24_h);
    }
  });
}

TEST(FeedingContract, TroughsAreJudgedOnlyWhereTheyAreChecked) {
  for_every_policy([](const FeedingPolicy& policy) {
    bool judged = false;
    for (int day = 0; day <= 28; ++day) {
      for (const double left_kg : {0.0, 0.5, 5.0}) {
        const auto decision = policy.at_trough_check({.day = day, .offered_kg = 5, .left_kg = left_kg});
        if (!decision) continue;
        judged = true;
        if (decision->allowance_kg_per_day) {
          EXPECT_GT(*decision->allowance_kg_per_day, 0);
          EXPECT_LE(*decision->allowance_kg_per_day, 20);
        }
      }
    }
    EXPECT_EQ(judged, policy.checks_troughs());
  });
}

double offered_kg(const FeedingPolicy& policy, bool farrowed, int day, std::optional<double> own_kg_per_day = {},
                  int own_day = 0) {
  double sum_kg = 0;
  for (const Duration round : policy.rounds()) {
    const auto decision = policy.decide({.farrowed = farrowed,
                                         .day = day,
                                         .round = round,
                                         .in_trough_kg = 1,
                                         .own_allowance_kg_per_day = own_kg_per_day,
                                         .own_allowance_day = own_day});
    if (decision) sum_kg += decision->offer_kg;
  }
  return sum_kg;
}

TEST(HandFeeding, SharesTheAllowanceOverItsRounds) {
  for (const char* times : {"[\"07:00\"]", "[\"07:00\", \"15:00\"]", "[\"07:00\", \"11:00\", \"15:00\"]"}) {
    const auto policy = policy_of("{kind: hand, times: " + std::string(times) +
                                  ", allowance: {start: 2 kg/d, step: 0.5 kg/d, max: 7 kg/d}}");
    EXPECT_NEAR(offered_kg(*policy, true, 0), 1, 1e-12) << "half of the first day's";
    EXPECT_NEAR(offered_kg(*policy, true, 1), 2, 1e-12);
    EXPECT_NEAR(offered_kg(*policy, true, 5), 4, 1e-12);
    EXPECT_NEAR(offered_kg(*policy, true, 20), 7, 1e-12);
    EXPECT_NEAR(offered_kg(*policy, false, -2), 2.7, 1e-12)
        << "the pre-farrow allowance does not depend on the rounds after";
  }
}

TEST(HandFeeding, GivesTheAmountOfTheDayAndTheLastOneFromThenOn) {
  const auto policy = policy_of("{kind: hand, allowance: {rule: by_day, amounts: [2, 3, 4.5, 6]}}");
  EXPECT_NEAR(offered_kg(*policy, true, 0), 1, 1e-12) << "half of the first day's";
  EXPECT_NEAR(offered_kg(*policy, true, 1), 2, 1e-12);
  EXPECT_NEAR(offered_kg(*policy, true, 3), 4.5, 1e-12);
  EXPECT_NEAR(offered_kg(*policy, true, 4), 6, 1e-12);
  EXPECT_NEAR(offered_kg(*policy, true, 20), 6, 1e-12);
}

TEST(HandFeeding, GivesUnequalPortionsAndMoreOrLessByParity) {
  const auto policy = policy_of(
      "{kind: hand, times: [\"07:00\", \"15:00\"], shares: [0.2, 0.6], "
      "allowance: {rule: flat, amount: 6 kg/d, change_by_parity: [-1, 0, 0.5]}}");
  const auto offer_kg = [&](int parity, Duration round) {
    return policy->decide({.parity = parity, .farrowed = true, .day = 5, .round = round})->offer_kg;
  };
  EXPECT_NEAR(offer_kg(1, 7_h), 1.25, 1e-12);
  EXPECT_NEAR(offer_kg(1, 15_h), 3.75, 1e-12);
  EXPECT_NEAR(offer_kg(2, 7_h) + offer_kg(2, 15_h), 6, 1e-12);
  EXPECT_NEAR(offer_kg(7, 7_h) + offer_kg(7, 15_h), 6.5, 1e-12);
}

TEST(HandFeeding, ChangesTheAllowanceByParityFromLactationDay1On) {
  const auto policy =
      policy_of("{kind: hand, times: [\"07:00\"], allowance: {rule: flat, amount: 6 kg/d, change_by_parity: [-1, 0]}}");
  const auto less_kg = [&](int day) {
    const auto offer_kg = [&](int parity) {
      return policy->decide({.parity = parity, .farrowed = true, .day = day, .round = 7_h})->offer_kg;
    };
    return offer_kg(2) - offer_kg(1);
  };
  EXPECT_EQ(less_kg(0), 0);
  EXPECT_NEAR(less_kg(1), 1, 1e-12);
}

TEST(FeedingContract, FeedBeforeFarrowingAndNightWorkComeWithTheCaution) {
  const Declaration keys = family().declared();
  const Declaration& kind = keys.keys.front().keys.front();
  for (const auto& policy : kind.variants) {
    const auto pre_farrow = std::ranges::find(policy.keys, "pre_farrow", &Declaration::name);
    ASSERT_NE(pre_farrow, policy.keys.end()) << policy.name;
    EXPECT_NE(help_of(pre_farrow->keys, "allowance").find("veterinarian"), std::string::npos) << policy.name;
  }
  EXPECT_NE(help_of(keys.keys, "from_day").find("veterinarian"), std::string::npos);
  EXPECT_NE(help_of(keys.keys, "night_top_up").find("hazard"), std::string::npos);
}

const char* const by_trough =
    "{kind: hand, allowance: {rule: by_trough, start: 3 kg/d, raise: 0.5 kg/d, lower: 1 kg/d, min: 2 kg/d, "
    "max: 8 kg/d, empty_up_to: 0.1, untouched_from: 0.5}}";

TEST(ByTrough, RaisesWhenEmptyLowersAndFlagsWhenUntouchedAndKeepsInBetween) {
  const auto policy = policy_of(by_trough);
  struct Row {
    int day;
    double offered_kg, left_kg;
    std::optional<double> own_kg_per_day, next_kg_per_day;
    bool flag;
    const char* why;
  };
  const std::vector<Row> rows = {
      {1, 3, 0, {}, 3.5, false, "empty, from the start"},
      {1, 3, 2, {}, 2.0, true, "untouched, from the start"},
      {1, 3, 1, {}, 3.0, false, "in between, from the start"},
      {9, 10, 1, 6.0, 6.5, false, "a crumb is empty"},
      {9, 6, 0.61, 6.0, 6.0, false, "more than a crumb"},
      {9, 6, 2.99, 6.0, 6.0, false, "not quite half"},
      {9, 6, 3, 6.0, 5.0, true, "half"},
      {9, 8, 0, 7.8, 8.0, false, "never more than most"},
      {9, 8, 0, 8.0, 8.0, false, "at most already"},
      {9, 2.5, 2.5, 2.5, 2.0, true, "never less than least"},
      {0, 1.5, 1.5, {}, {}, false, "she farrowed today"},
      {5, 0.8, 0, 4.0, 4.5, false, "a small portion, all eaten"},
      {4, 0, 0, 4.0, {}, false, "an empty trough that was never filled says nothing"},
  };
  for (const Row& row : rows) {
    const auto decision = policy->at_trough_check({.day = row.day,
                                                   .offered_kg = row.offered_kg,
                                                   .left_kg = row.left_kg,
                                                   .own_allowance_kg_per_day = row.own_kg_per_day,
                                                   .own_allowance_day = row.day});
    ASSERT_TRUE(decision) << row.why;
    EXPECT_NEAR(decision->allowance_kg_per_day.value_or(0), row.next_kg_per_day.value_or(0), 1e-12) << row.why;
    EXPECT_EQ(decision->flag, row.flag) << row.why;
  }
}

TEST(ByTrough, GivesEachSowTheCurveAndHerOwnDeviationFromIt) {
  const auto policy = policy_of(by_trough);
  EXPECT_NEAR(offered_kg(*policy, true, 0), 1.5, 1e-12) << "half of the start";
  EXPECT_NEAR(offered_kg(*policy, true, 1), 3, 1e-12);
  EXPECT_NEAR(offered_kg(*policy, true, 6), 3 + 5 * 0.75, 1e-12) << "the curve, as long as nobody has looked";
  EXPECT_NEAR(offered_kg(*policy, true, 6, 5.5, 6), 5.5, 1e-12);
  EXPECT_NEAR(offered_kg(*policy, true, 7, 5.5, 6), 5.5 + 0.75, 1e-12) << "her deviation holds, the curve rises";
  EXPECT_NEAR(offered_kg(*policy, true, 12, 5.5, 6), 5.5 + 8 - 6.75, 1e-12) << "up to the maximum of the curve";
}

TEST(ByTrough, FollowsASowsAppetiteFromBelowAndFindsItAgainWhenItFalls) {
  const auto policy = policy_of(by_trough);
  std::optional<double> own_kg_per_day;
  int own_day = 0;
  const auto days = [&](int first, int last, double appetite_kg) {
    for (int day = first; day <= last; ++day) {
      const double poured_kg = offered_kg(*policy, true, day, own_kg_per_day, own_day);
      const auto check = policy->at_trough_check({.day = day,
                                                  .offered_kg = poured_kg,
                                                  .left_kg = std::max(0.0, poured_kg - appetite_kg),
                                                  .own_allowance_kg_per_day = own_kg_per_day,
                                                  .own_allowance_day = own_day});
      own_kg_per_day = check->allowance_kg_per_day;
      own_day = day;
    }
  };
  days(1, 12, 6.3);
  EXPECT_GE(*own_kg_per_day, 6.3) << "she is not kept short";
  EXPECT_LT(*own_kg_per_day, 2 * 6.3) << "less than half of it is left";
  days(13, 20, 2.2);
  EXPECT_LT(*own_kg_per_day, 2 * 2.2) << "less than half of it is left";
}

TEST(ByTrough, RefusesBoundsThatCannotBe) {
  for (const char* keys : {"start: 1 kg/d", "max: 2 kg/d", "min: 4 kg/d", "empty_up_to: 0.6"})
    EXPECT_THROW(policy_of("{kind: hand, allowance: {rule: by_trough, " + std::string(keys) + "}}"), ScenarioError)
        << keys;
}

TEST(RemoveStale, IsDoneDailyUnlessTheScenarioSaysNever) {
  for_every_policy([](const FeedingPolicy& policy) {
    const bool never = policy.describe().find("stale feed never removed") != std::string::npos;
    EXPECT_EQ(policy.removes_stale_feed(), !never);
  });
  for (const std::string kind : {"hand", "drops"}) {
    EXPECT_TRUE(policy_of("{kind: " + kind + "}")->removes_stale_feed()) << "default";
    EXPECT_FALSE(policy_of("{kind: " + kind + ", remove_stale: never}")->removes_stale_feed());
    EXPECT_FALSE(policy_of("{kind: " + kind + "}")->checks_troughs())
        << "a task of its own only where allowances adjust";
  }
}

TEST(NightTopUp, FillsOnlyEmptyTroughsOfSowsThatHaveFarrowedOnTopOfTheAllowance) {
  for (const std::string kind : {"hand", "drops"}) {
    const auto policy = policy_of("{kind: " + kind + ", night_top_up: \"22:00\", top_up: 1.5 kg}");
    const auto at_night = [&](bool farrowed, int day, double in_trough_kg) {
      return policy->decide({.farrowed = farrowed, .day = day, .round = 22_h, .in_trough_kg = in_trough_kg});
    };
    EXPECT_TRUE(std::ranges::binary_search(policy->rounds(), 22_h));
    EXPECT_FALSE(std::ranges::binary_search(policy->pre_farrow_rounds(), 22_h));
    ASSERT_TRUE(at_night(true, 5, 0));
    EXPECT_NEAR(at_night(true, 5, 0)->offer_kg, 1.5, 1e-12);
    EXPECT_FALSE(at_night(true, 5, 0.1));
    EXPECT_FALSE(at_night(false, -1, 0));
    EXPECT_NEAR(offered_kg(*policy, true, 5), offered_kg(*policy_of("{kind: " + kind + "}"), true, 5), 1e-12);
  }
  EXPECT_THROW(policy_of("{kind: hand, top_up: 1 kg}"), ScenarioError) << "at which hour";
  EXPECT_THROW(policy_of("{kind: hand, night_top_up: \"15:00\"}"), ScenarioError) << "a feed of the day";
}

TEST(MachineDrops, NeedNobodyAndShareTheSameAllowanceAsHands) {
  const auto drops = policy_of("{kind: drops}"), hand = policy_of("{kind: hand}");
  EXPECT_TRUE(drops->dropped_by_machine());
  EXPECT_FALSE(hand->dropped_by_machine());
  EXPECT_EQ(drops->machine_look_at(), 7_h);
  for (const int day : {0, 1, 7, 20}) EXPECT_NEAR(offered_kg(*drops, true, day), offered_kg(*hand, true, day), 1e-12);
  EXPECT_NEAR(offered_kg(*drops, false, -2), offered_kg(*hand, false, -2), 1e-12);
}

TEST(FullAccess, ChecksTroughsOnlyUntilAccessBegins) {
  const auto policy = policy_of("{kind: full_access, from_day: 5, allowance: {rule: by_trough}}");
  EXPECT_TRUE(policy->at_trough_check({.day = 4, .offered_kg = 4, .left_kg = 0}));
  EXPECT_FALSE(policy->at_trough_check({.day = 5, .offered_kg = 4, .left_kg = 0}));
  EXPECT_FALSE(policy_of("{kind: full_access, allowance: {rule: by_trough}}")->checks_troughs());
  EXPECT_TRUE(policy_of("{kind: full_access, from_day: 1, allowance: {rule: by_trough}}")->checks_troughs())
      << "on the day of farrowing";
}

TEST(FullAccess, BeforeFarrowingLeavesNoMealTimesThatCouldMoveTheHourOfFarrowing) {
  EXPECT_TRUE(policy_of("{kind: full_access, from_day: -2}")->pre_farrow_rounds().empty());
  EXPECT_FALSE(policy_of("{kind: full_access, from_day: 0}")->pre_farrow_rounds().empty());
}

TEST(FullAccess, BeginsOnItsDay) {
  const auto at_farrowing = policy_of("{kind: full_access}");
  EXPECT_EQ(at_farrowing->decide({.farrowed = false, .day = 2, .round = 7_h})->access, FeedAccess::by_hand)
      << "overdue, not farrowed";
  EXPECT_EQ(at_farrowing->decide({.farrowed = true, .day = 0, .round = 7_h})->access, FeedAccess::full);
  const auto before = policy_of("{kind: full_access, from_day: -2}");
  EXPECT_EQ(before->decide({.farrowed = false, .day = -3, .round = 7_h})->access, FeedAccess::by_hand);
  EXPECT_EQ(before->decide({.farrowed = false, .day = -2, .round = 7_h})->access, FeedAccess::full);
}

TEST(FullAccess, WaitsForFarrowingOnlyWithMoreBackfatThanTheLimit) {
  const auto policy = policy_of("{kind: full_access, from_day: -2, unless_backfat_over: 20}");
  const auto access = [&](bool farrowed, int day, double backfat_mm) {
    return policy->decide({.farrowed = farrowed, .day = day, .round = 7_h, .backfat_mm = backfat_mm})->access;
  };
  EXPECT_EQ(access(false, -2, 20), FeedAccess::full);
  EXPECT_EQ(access(false, -2, 20.5), FeedAccess::by_hand);
  EXPECT_EQ(access(true, 0, 20.5), FeedAccess::full);
}

TEST(HandFeeding, RefusesSharesThatAreNoneOrNotOneForEachFeed) {
  const auto refused = [](const char* shares) {
    try {
      policy_of(std::string("{kind: hand, times: [\"07:00\", \"15:00\"], shares: ") + shares + "}");
    } catch (const ScenarioError& error) {
      return one_line(error.mistakes().front());
    }
    return std::string();
  };
  EXPECT_NE(refused("[0, 0]").find("are all 0"), std::string::npos);
  EXPECT_NE(refused("[1]").find("2 shares"), std::string::npos);
  EXPECT_EQ(refused("[0, 1]"), "");
}

}  // namespace
}  // namespace farrowtide
