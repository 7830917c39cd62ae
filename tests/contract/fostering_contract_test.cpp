// Rules that every fostering policy keeps, run over the whole catalogue. A policy without cases fails. The exact
// optimum is checked against another library in tests/python/test_fostering_plan.py.
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <map>
#include <numeric>
#include <random>

#include "libsim/policy/fostering/fostering.hpp"
#include "libsim/policy/fostering/shortage.hpp"
#include "tests/contract/policy_family.hpp"

namespace farrowtide {
namespace {

// What a case allows, said here once more so that the reader of keys is not its own judge.
struct Case {
  std::string keys;
  double from_h = 12, until_h = 24, max_moved = 0.15;
  int closed_after_day = 3;
  bool from_sick_litters = false, only_once = true;
};

const std::map<std::string, std::vector<Case>>& cases() {
  static const std::vector<Case> moving = {
      {.keys = ""},
      {.keys = ", max_moved: 1", .max_moved = 1},
      {.keys = ", max_moved: 0", .max_moved = 0},
      {.keys = ", window: {from: 0 h, until: 7 d}, max_moved: 0.5, closed_after_day: 7, only_once: false",
       .from_h = 0,
       .until_h = 168,
       .max_moved = 0.5,
       .closed_after_day = 7,
       .only_once = false},
      {.keys = ", from_sick_litters: true, max_moved: 0.3, times: [\"08:00\"], nurse_sows: 2",
       .max_moved = 0.3,
       .from_sick_litters = true},
  };
  static const std::map<std::string, std::vector<Case>> all = {
      {"none", {{.keys = "", .max_moved = 0}}},
      {"fill_teats", moving},
      {"fill_and_equalise", moving},
      {"by_size", moving},
  };
  return all;
}

const PolicyFamily<FosteringPolicy>& family() {
  static const PolicyFamily<FosteringPolicy> fostering{"none", fostering_catalogue(), {}};
  return fostering;
}

std::shared_ptr<const FosteringPolicy> policy_of(const std::string& keys) { return family().policy(keys); }

template <class Check>
void for_every_policy(Check check) {
  for (const auto& entry : fostering_catalogue()) {
    ASSERT_TRUE(cases().contains(entry.name)) << "add cases for the policy '" << entry.name << "'";
    for (const Case& one : cases().at(entry.name)) {
      SCOPED_TRACE(entry.name + one.keys);
      check(*policy_of("{kind: " + entry.name + one.keys + "}"), one, entry.name);
    }
  }
}

const LitterView& litter_of(const FosteringView& view, int place) {
  return view.litters.at(static_cast<std::size_t>(place));
}
const PigletView& piglet_of(const FosteringView& view, int place) {
  return view.piglets.at(static_cast<std::size_t>(place));
}

// A litter of piglets of the same age, with the mean weight that follows.
void add_litter(FosteringView& view, LitterView litter, const std::vector<double>& weights_kg, double age_h) {
  litter.sow = static_cast<int>(view.litters.size());
  litter.nursing = static_cast<int>(weights_kg.size());
  litter.since_farrowing_h = age_h;
  litter.lactation_day = static_cast<int>(age_h / 24);
  litter.mean_kg = std::accumulate(weights_kg.begin(), weights_kg.end(), 0.0) / std::max<int>(1, litter.nursing);
  for (const double kg : weights_kg)
    view.piglets.push_back({.litter = litter.sow, .weight_kg = kg, .age_h = age_h, .scouring = litter.scouring});
  view.litters.push_back(litter);
  view.born_alive += litter.nursing;
}

FosteringView random_room(unsigned seed) {
  std::mt19937 random(seed);
  const auto whole = [&](int low, int high) { return low + static_cast<int>(random() % unsigned(high - low + 1)); };
  FosteringView view;
  for (int sows = whole(1, 12); sows > 0; --sows) {
    std::vector<double> weights_kg;
    for (int n = whole(0, 19); n > 0; --n) weights_kg.push_back(0.001 * whole(700, 2100));
    const double age_h = random() % 4 == 0 ? whole(0, 200) : whole(10, 30);
    LitterView litter{.parity = whole(1, 7), .teats = whole(10, 16)};
    litter.scouring = random() % 8 == 0;
    litter.sow_ill = random() % 8 == 0;
    add_litter(view, litter, weights_kg, age_h);
  }
  for (PigletView& piglet : view.piglets) piglet.moves = random() % 12 == 0 ? 1 : 0;
  view.moved = static_cast<int>(std::ranges::count_if(view.piglets, [](const PigletView& p) { return p.moves > 0; }));
  return view;
}

std::vector<FosteringView> rooms() {
  std::vector<FosteringView> rooms(1);  // one without sows
  for (unsigned seed = 1; seed <= 40; ++seed) rooms.push_back(random_room(seed));
  return rooms;
}

using Moves = std::vector<std::pair<int, int>>;  // piglet, to

Moves moves_of(const FosteringPlan& plan) {
  Moves moves;
  for (const FosterMove& move : plan.moves) moves.emplace_back(move.piglet, move.to);
  return moves;
}

std::vector<int> sizes_after(const FosteringView& view, const FosteringPlan& plan) {
  std::vector<int> sizes;
  for (const LitterView& litter : view.litters) sizes.push_back(litter.nursing);
  for (const FosterMove& move : plan.moves) {
    --sizes.at(static_cast<std::size_t>(piglet_of(view, move.piglet).litter));
    ++sizes.at(static_cast<std::size_t>(move.to));
  }
  return sizes;
}

TEST(FosteringContract, MovesOnlyWhomTheRuleLetsMoveEachOnceAndToAnotherSow) {
  for_every_policy([](const FosteringPolicy& policy, const Case& rule, const std::string& kind) {
    std::size_t moved = 0;
    for (const FosteringView& view : rooms()) {
      std::vector<int> times(view.piglets.size());
      const FosteringPlan plan = policy.plan(view);
      moved += plan.moves.size();
      for (const FosterMove& move : plan.moves) {
        const PigletView& piglet = piglet_of(view, move.piglet);
        EXPECT_EQ(++times.at(static_cast<std::size_t>(move.piglet)), 1);
        EXPECT_NE(piglet.litter, move.to);
        EXPECT_TRUE(piglet.age_h >= rule.from_h && piglet.age_h <= rule.until_h) << piglet.age_h;
        EXPECT_TRUE(piglet.moves == 0 || !rule.only_once);
        EXPECT_TRUE(!litter_of(view, piglet.litter).scouring || rule.from_sick_litters);
      }
    }
    EXPECT_EQ(moved > 20, kind != "none" && rule.max_moved > 0) << moved << " moves: the rooms are no test";
  });
}

TEST(FosteringContract, PutsNoneToAScouringLitterAnIllSowOrAfterTheClosingDay) {
  for_every_policy([](const FosteringPolicy& policy, const Case& rule, const std::string&) {
    for (const FosteringView& view : rooms()) {
      for (const FosterMove& move : policy.plan(view).moves) {
        const LitterView& to = litter_of(view, move.to);
        EXPECT_FALSE(to.scouring);
        EXPECT_FALSE(to.sow_ill);
        EXPECT_LE(to.lactation_day, rule.closed_after_day);
      }
    }
  });
}

TEST(FosteringContract, KeepsLitterIntegrityExactly) {
  for_every_policy([](const FosteringPolicy& policy, const Case& rule, const std::string&) {
    for (const FosteringView& view : rooms()) {
      const auto moves = static_cast<int>(policy.plan(view).moves.size());
      EXPECT_TRUE(moves == 0 || view.moved + moves <= rule.max_moved * view.born_alive + 1e-9);
    }
  });
}

// Sorting may swap piglets of a litter that is too large already; filling may not.
TEST(FosteringContract, NoSowIsGivenMoreThanHerTeats) {
  for_every_policy([](const FosteringPolicy& policy, const Case&, const std::string& kind) {
    for (const FosteringView& view : rooms()) {
      const FosteringPlan plan = policy.plan(view);
      const std::vector<int> sizes = sizes_after(view, plan);
      for (const FosterMove& move : plan.moves) {
        const LitterView& to = litter_of(view, move.to);
        EXPECT_LE(sizes.at(static_cast<std::size_t>(move.to)),
                  kind == "by_size" ? std::max(to.teats, to.nursing) : to.teats);
      }
    }
  });
}

// From the costs: a litter that gave and took would pay for a move more and gain nothing by it.
TEST(FosteringContract, WhoFillsTeatsLetsNoLitterGiveAndTake) {
  for (const char* kind : {"fill_teats", "fill_and_equalise"}) {
    const auto policy = policy_of("{kind: " + std::string(kind) + ", max_moved: 1}");
    int moves = 0;
    for (const FosteringView& view : rooms()) {
      std::vector<int> gives(view.litters.size()), takes(view.litters.size());
      for (const FosterMove& move : policy->plan(view).moves) {
        ++moves;
        ++gives.at(static_cast<std::size_t>(piglet_of(view, move.piglet).litter));
        ++takes.at(static_cast<std::size_t>(move.to));
      }
      for (std::size_t i = 0; i < gives.size(); ++i) EXPECT_EQ(std::min(gives[i], takes[i]), 0);
    }
    EXPECT_GT(moves, 100) << "the rooms are no test";
  }
}

TEST(FosteringContract, TheSameViewGetsTheSamePlanAndNoPlanIsWorseThanNone) {
  for_every_policy([](const FosteringPolicy& policy, const Case&, const std::string&) {
    for (const FosteringView& view : rooms()) {
      const FosteringPlan plan = policy.plan(view);
      EXPECT_EQ(moves_of(plan), moves_of(policy.plan(view)));
      EXPECT_TRUE(plan.moves.empty() ? plan.cost == 0 : plan.cost < 0) << plan.cost;
    }
    EXPECT_GT(policy.describe().size(), 10u);
  });
}

FosteringView reversed(const FosteringView& view) {
  FosteringView turned = view;
  std::ranges::reverse(turned.litters);
  for (PigletView& piglet : turned.piglets) piglet.litter = static_cast<int>(view.litters.size()) - 1 - piglet.litter;
  std::ranges::reverse(turned.piglets);
  return turned;
}

TEST(FosteringContract, ThePlanIsAsGoodWhateverTheOrderOfSowsAndPiglets) {
  for_every_policy([](const FosteringPolicy& policy, const Case&, const std::string&) {
    for (const FosteringView& view : rooms()) {
      const FosteringPlan plan = policy.plan(view), turned = policy.plan(reversed(view));
      EXPECT_NEAR(turned.cost, plan.cost, 1e-9);
      EXPECT_EQ(turned.what_is_missing.empty(), plan.what_is_missing.empty());
    }
  });
}

TEST(FosteringContract, SaysWhatIsMissingWhereverPigletsAreLeftWithoutATeatAndOnlyThere) {
  for_every_policy([](const FosteringPolicy& policy, const Case&, const std::string& kind) {
    for (const FosteringView& view : rooms()) {
      const FosteringPlan plan = policy.plan(view);
      const std::vector<int> sizes = sizes_after(view, plan);
      int left = 0;
      for (std::size_t i = 0; i < sizes.size() && kind != "none"; ++i)
        left += std::max(0, sizes[i] - view.litters[i].teats);
      EXPECT_EQ(!plan.what_is_missing.empty(), left > 0) << plan.what_is_missing;
      EXPECT_EQ(std::accumulate(plan.left_over.begin(), plan.left_over.end(), 0), left) << "each for one reason";
    }
  });
}

TEST(FosteringContract, HelpSaysWhatMovesCanDoAndWhoDecides) {
  EXPECT_NE(family().help("max_moved").find("disease"), std::string::npos);
  EXPECT_NE(family().help("max_moved").find("growth"), std::string::npos);
  for (const char* key : {"nurse_sows", "from_sick_litters"})
    EXPECT_NE(family().help(key).find("herd veterinarian"), std::string::npos) << key;
}

TEST(FosteringContract, SaysItsLimitsInTheirUnits) {
  EXPECT_NE(policy_of("{kind: fill_teats, max_moved: 0.08}")->describe().find("at most 8 % of the piglets born alive"),
            std::string::npos);
}

TEST(FosteringContract, RefusesAWindowThatClosesBeforeItOpens) {
  EXPECT_THROW(policy_of("{kind: fill_teats, window: {from: 24 h, until: 12 h}}"), ScenarioError);
  EXPECT_THROW(policy_of("{kind: fill_teats, max_moved: 1.2}"), ScenarioError);
  EXPECT_THROW(policy_of("{kind: by_size, nurse_sows: 9}"), ScenarioError);
  EXPECT_THROW(policy_of("{kind: none, max_moved: 0.1}"), ScenarioError) << "a key of another policy";
}

TEST(NoFostering, IsTheStandardAndNeverPlans) {
  EXPECT_TRUE(policy_of("{}")->times().empty());
  EXPECT_TRUE(policy_of("{}")->plan(random_room(1)).moves.empty());
}

// By hand. The donor has two piglets above its teats: 10 x 2^2 - 10 x 1^2 = 30 saved by the first that leaves, 10 by
// the second. A and B have one teat each. Weights differ from the recipients' means by .4 (p1, A), .1 (p1, B), .2 (p2,
// A), .3 (p2, B). p1 to B and p2 to A: 1.5 + 0.05 + 1.5 + 0.1 - 40 = -36.85; the other way round 0.2 dearer.
TEST(FillTeats, ChoosesTheBetterOfTwoPairings) {
  FosteringView view;
  add_litter(view, {.parity = 2, .teats = 1}, {1.3, 1.5, 1.0}, 20);
  view.piglets[2].moves = 1;  // stays
  add_litter(view, {.parity = 2, .teats = 4}, {1.7, 1.7, 1.7}, 20);
  add_litter(view, {.parity = 2, .teats = 4}, {1.2, 1.2, 1.2}, 20);
  const FosteringPlan plan = policy_of("{kind: fill_teats, max_moved: 1}")->plan(view);
  EXPECT_EQ(moves_of(plan), (Moves{{0, 2}, {1, 1}}));
  EXPECT_NEAR(plan.cost, -36.85, 1e-9);
  EXPECT_EQ(plan.what_is_missing, "");
}

// By hand. Litters of 14 and 10, mean 12, teats for all. The first move brings 14 to 13 and 10 to 11: (4 - 1) saved
// twice; the second (1 - 0) twice; a third would cost. Each move costs 1.5, all piglets weigh the same: 2 x 1.5 - 8.
TEST(FillAndEqualise, EvensOutLittersAsFarAsMovesPay) {
  FosteringView view;
  add_litter(view, {.parity = 2, .teats = 16}, std::vector<double>(14, 1.4), 20);
  add_litter(view, {.parity = 3, .teats = 16}, std::vector<double>(10, 1.4), 20);
  const auto plan = policy_of("{kind: fill_and_equalise}")->plan(view);
  EXPECT_EQ(moves_of(plan), (Moves{{0, 1}, {1, 1}})) << "equal piglets: the first of them";
  EXPECT_NEAR(plan.cost, -5, 1e-9);
  EXPECT_TRUE(policy_of("{kind: fill_teats}")->plan(view).moves.empty());
  // A first-parity sow is preferred by 0.1; one that farrowed over 30 h ago costs 0.3: neither changes this plan.
  view.litters[1].parity = 1;
  view.litters[1].since_farrowing_h = 31;
  EXPECT_NEAR(policy_of("{kind: fill_and_equalise}")->plan(view).cost, -5 + 2 * 0.2, 1e-9);
}

// By hand, at 10 per kg. The room's piglets in order: 0.8, 1.0 for the litter that is lighter now (its mean 1.2, the
// other's 1.4), 1.6, 1.8 for the other. So they are to rear 0.9 and 1.7 kg, and a swap of 1.6 and 1.0 saves 10 x 0.6
// for each and costs 1.5 for each.
TEST(SortBySize, SwapsALightForAHeavyPiglet) {
  FosteringView view;
  add_litter(view, {.parity = 4, .teats = 2}, {0.8, 1.6}, 20);
  add_litter(view, {.parity = 5, .teats = 2}, {1.0, 1.8}, 20);
  const auto plan = policy_of("{kind: by_size, max_moved: 0.5}")->plan(view);
  EXPECT_EQ(moves_of(plan), (Moves{{1, 1}, {2, 0}}));
  EXPECT_NEAR(plan.cost, 2 * 1.5 - 2 * 6, 1e-9);
  EXPECT_TRUE(policy_of("{kind: by_size, max_moved: 0.25}")->plan(view).moves.empty()) << "half a swap fits nowhere";
  // Common practice, no source: light piglets suit young sows. The second sow is young now, and to rear 0.9 kg.
  view.litters[1].parity = 2;
  EXPECT_EQ(moves_of(policy_of("{kind: by_size, max_moved: 1}")->plan(view)), (Moves{{0, 1}, {3, 0}}));
}

TEST(SortBySize, MakesRoomWhereThereAreSurplusPigletsFirst) {
  FosteringView view;
  add_litter(view, {.parity = 4, .teats = 2}, {0.8, 1.6, 1.6}, 20);
  add_litter(view, {.parity = 5, .teats = 2}, {1.0}, 20);
  const auto plan = policy_of("{kind: by_size, max_moved: 0.25}")->plan(view);
  ASSERT_EQ(plan.moves.size(), 1u);
  EXPECT_EQ(plan.moves[0].to, 1);
  EXPECT_EQ(plan.what_is_missing, "");
}

// Two litters of 6 with 4 teats each, and a sow with 3 teats to spare.
FosteringView short_of_teats(double age_h, int moves_before) {
  FosteringView view;
  for (int i = 0; i < 2; ++i) add_litter(view, {.parity = 2, .teats = 4}, {1.0, 1.2, 1.4, 1.6, 1.8, 1.9}, age_h);
  add_litter(view, {.parity = 2, .teats = 8}, std::vector<double>(5, 1.4), 40);
  for (PigletView& piglet : view.piglets) piglet.moves = moves_before;
  return view;
}

TEST(FosteringWords, SayWhyPigletsAreLeftWithoutATeat) {
  const struct {
    const char* keys;
    double age_h;
    int moves_before;
    const char* words;
    std::array<int, 7> left_over;  // too young, too old, moved before, sick; too few teats, limit, not worth it
  } rows[] = {
      {"max_moved: 1", 20, 0, "", {0, 0, 0, 0, 1, 0, 0}},
      {"max_moved: 0.12", 20, 0, "; no more than 2 may be moved (12 % of 17 born alive)", {0, 0, 0, 0, 1, 1, 0}},
      {"max_moved: 0", 20, 0, "; no more than 0 may be moved (0 % of 17 born alive)", {0, 0, 0, 0, 1, 3, 0}},
      {"max_moved: 1", 26, 0, "; 4 too old, the window closes at 24 h of age", {0, 4, 0, 0, 0, 0, 0}},
      {"max_moved: 1", 6, 0, "; 4 not yet 12 h old", {4, 0, 0, 0, 0, 0, 0}},
      {"max_moved: 1", 20, 1, "; 4 already moved", {0, 0, 4, 0, 0, 0, 0}},
  };
  for (const auto& row : rows) {
    for (const char* kind : {"fill_teats", "fill_and_equalise", "by_size"}) {
      const auto policy = policy_of("{kind: " + std::string(kind) + ", " + row.keys + "}");
      const auto plan = policy->plan(short_of_teats(row.age_h, row.moves_before));
      EXPECT_EQ(plan.what_is_missing, "4 surplus piglets, 3 free functional teats" + std::string(row.words)) << kind;
      EXPECT_EQ(plan.surplus_piglets, 4);
      EXPECT_EQ(plan.free_teats, 3);
      EXPECT_EQ(plan.left_over, row.left_over) << kind << ", " << row.keys;
    }
  }
}

TEST(FosteringContract, ASowWhomNobodyNursesTakesPigletsOfAnyWeight) {
  FosteringView view;
  add_litter(view, {.parity = 3, .teats = 4}, {0.9, 1.1, 1.4, 1.6, 1.8, 1.9}, 20);
  add_litter(view, {.parity = 3, .teats = 12}, {}, 48);
  for (const char* kind : {"fill_teats", "fill_and_equalise", "by_size"}) {
    const auto plan = policy_of("{kind: " + std::string(kind) + ", max_moved: 1}")->plan(view);
    EXPECT_GE(plan.moves.size(), 2u) << kind;
    EXPECT_EQ(plan.what_is_missing, "") << kind;
  }
}

// The room of the shortest words: every litter two above its teats or one below.
TEST(FosteringWords, CountsTheWholeRoom) {
  FosteringView view;
  for (int i = 0; i < 31; ++i) {
    add_litter(view, {.parity = 2, .teats = 12}, std::vector<double>(14, 1.4), 20);
    add_litter(view, {.parity = 2, .teats = 12}, std::vector<double>(11, 1.4), 20);
  }
  const auto plan = policy_of("{kind: fill_teats}")->plan(view);
  EXPECT_EQ(plan.what_is_missing, "62 surplus piglets, 31 free functional teats");
  EXPECT_EQ(plan.moves.size(), 31u);
}

// Three piglets could be placed: the limit is why they are not only where it leaves fewer moves than that.
TEST(FosteringWords, BlameTheLimitOnlyWhereItIsBelowWhatCouldBePlaced) {
  FosteringRule rule;
  rule.window_from = 12_h;
  rule.window_until = 24_h;
  rule.closed_after_day = 3;
  const auto left = [&](int moves) {
    rule.max_moved = (moves + 0.5) / 17;
    const FosteringView view = short_of_teats(20, 0);
    EXPECT_EQ(rule.moves_left(view), moves);
    return left_over(view, rule, {});
  };
  EXPECT_EQ(left(2), (std::array<int, 7>{0, 0, 0, 0, 1, 3, 0}));
  EXPECT_EQ(left(3), (std::array<int, 7>{0, 0, 0, 0, 1, 0, 3})) << "there were moves enough";
}

}  // namespace
}  // namespace farrowtide
