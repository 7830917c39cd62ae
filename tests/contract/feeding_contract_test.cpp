// Rules that every feeding policy keeps, run over the whole catalogue. A policy without cases fails.
#include <gtest/gtest.h>

#include <algorithm>
#include <map>

#include "libsim/policy/feeding/feeding.hpp"
#include "libsim/scenario/document.hpp"

namespace farrowtide {
namespace {

// Settings to try of each policy; "{}" is its standard. A new policy adds its own here.
const std::map<std::string, std::vector<std::string>>& cases() {
  static const std::map<std::string, std::vector<std::string>> all = {
      {"hand",
       {"{kind: hand}", "{kind: hand, times: [\"07:00\"]}",
        "{kind: hand, times: [\"06:00\", \"11:00\", \"16:00\", \"21:00\"], water_added: true}",
        "{kind: hand, allowance: {rule: flat, amount: 6 kg/d}}",
        "{kind: hand, allowance: {rule: by_day, amounts: [2, 3, 4.5, 6]}}",
        "{kind: hand, pre_farrow: {times: [\"08:00\"], allowance: 3 kg/d}}"}},
      {"full_access",
       {"{kind: full_access}", "{kind: full_access, from_day: -2}", "{kind: full_access, from_day: 3, wet: true}"}},
  };
  return all;
}

struct Reader {
  std::shared_ptr<const FeedingPolicy> policy;
  static Reader read(Section& section) {
    Section feeding = section.section("feeding", "Feeding.");
    return {feeding.variants({.name = "kind", .standard = "hand", .help = "How."}, feeding_catalogue())};
  }
};

std::shared_ptr<const FeedingPolicy> policy_of(const std::string& yaml) {
  const Coefficients coefficients = Coefficients::built_in();
  return read_settings<Reader>(Document::from_text("feeding: " + yaml, "contract.yaml"), coefficients).policy;
}

template <class Check>
void for_every_policy(Check check) {
  for (const auto& entry : feeding_catalogue()) {
    ASSERT_TRUE(cases().contains(entry.name)) << "add cases for the policy '" << entry.name << "'";
    for (const std::string& yaml : cases().at(entry.name)) {
      SCOPED_TRACE(yaml);
      check(*policy_of(yaml));
    }
  }
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
}

double offered_kg(const FeedingPolicy& policy, bool farrowed, int day) {
  double sum_kg = 0;
  for (const Duration round : policy.rounds()) {
    const auto decision = policy.decide({.farrowed = farrowed, .day = day, .round = round});
    if (decision) sum_kg += decision->offer_kg;
  }
  return sum_kg;
}

TEST(HandFeeding, SharesTheAllowanceOverItsRounds) {
  for (const char* times : {"[\"07:00\"]", "[\"07:00\", \"15:00\"]", "[\"07:00\", \"11:00\", \"15:00\"]"}) {
    const auto policy = policy_of("{kind: hand, times: " + std::string(times) +
                                  ", allowance: {start: 2 kg/d, step: 0.5 kg/d, most: 7 kg/d}}");
    EXPECT_NEAR(offered_kg(*policy, true, 0), 1, 1e-12) << "half of the first day's";
    EXPECT_NEAR(offered_kg(*policy, true, 1), 2, 1e-12);
    EXPECT_NEAR(offered_kg(*policy, true, 5), 4, 1e-12);
    EXPECT_NEAR(offered_kg(*policy, true, 20), 7, 1e-12);
    EXPECT_NEAR(offered_kg(*policy, false, -2), 2.7, 1e-12)
        << "the pre-farrow allowance does not depend on the rounds after";
  }
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

}  // namespace
}  // namespace farrowtide
