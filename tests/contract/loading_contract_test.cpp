// Rules that every loading policy keeps, run over the whole catalogue. A policy without cases fails.
#include "libsim/policy/loading/loading.hpp"
#include "tests/contract/policy_family.hpp"

namespace farrowtide {
namespace {

const PolicyFamily<LoadingPolicy>& loading() {
  static const PolicyFamily<LoadingPolicy> family{
      "gilts_together",
      loading_catalogue(),
      {{"gilts_together",
        {"{kind: gilts_together}", "{kind: gilts_together, days_before_due: 2}",
         "{kind: gilts_together, teach: slow_to_eat}", "{kind: gilts_together, again: true}"}},
       {"gilts_spread",
        {"{kind: gilts_spread}", "{kind: gilts_spread, days_before_due: 10, teach: nobody}",
         "{kind: gilts_spread, teach: slow_to_eat, again: true}"}}}};
  return family;
}

// How often a gilt is taught that eats this much every day, from loading to the due date.
int lessons(const LoadingPolicy& policy, double eaten_kg_per_day) {
  int taught = 0;
  for (int day = 0; day < policy.days_before_due(); ++day)
    taught += policy.teach(
        {.days_in_room = day, .times_taught = taught, .eaten_since_yesterday_kg = day == 0 ? 0 : eaten_kg_per_day});
  return taught;
}

TEST(LoadingContract, SaysWhoIsTaughtAndHowOften) {
  const auto said = [](const std::string& keys) {
    return loading().policy("{kind: gilts_together, " + keys + "}")->describe();
  };
  EXPECT_NE(said("teach: nobody").find("no gilt taught to drink and eat"), std::string::npos);
  EXPECT_NE(said("teach: everyone, again: false").find("every gilt taught once"), std::string::npos);
  EXPECT_NE(said("teach: everyone, again: true").find("every gilt taught until she eats"), std::string::npos);
  EXPECT_NE(said("teach: slow_to_eat, again: true").find("gilts that are slow to eat taught until they eat"),
            std::string::npos);
}

TEST(LoadingContract, SowsComeInBeforeTheyAreDue) {
  loading().for_every([](const LoadingPolicy& policy) { EXPECT_GE(policy.days_before_due(), 1); });
}

// Nobody knows yet who is slow: on the day of loading either every gilt is taught or none.
TEST(LoadingContract, WhatAGiltAteMattersOnlyAfterTheDayOfLoading) {
  loading().for_every([](const LoadingPolicy& policy) {
    EXPECT_EQ(policy.teach({.days_in_room = 0, .eaten_since_yesterday_kg = 0}),
              policy.teach({.days_in_room = 0, .eaten_since_yesterday_kg = 3}));
  });
}

TEST(LoadingContract, TheMoreAGiltEatsAndTheOftenerSheWasTaughtTheLessSheIsTaught) {
  loading().for_every([](const LoadingPolicy& policy) {
    for (int day = 0; day <= 10; ++day) {
      for (const int taught : {0, 1, 2, 5}) {
        bool before = true;
        for (double eaten_kg = 0; eaten_kg <= 4; eaten_kg += 0.25) {
          const GiltView view{.days_in_room = day, .times_taught = taught, .eaten_since_yesterday_kg = eaten_kg};
          const bool teaches = policy.teach(view);
          EXPECT_TRUE(before || !teaches) << "day " << day << ", " << eaten_kg << " kg";
          EXPECT_EQ(policy.teach(view), teaches) << "the same view, another decision";
          if (taught > 0 && teaches) {
            EXPECT_TRUE(policy.teach({.days_in_room = day, .eaten_since_yesterday_kg = eaten_kg}));
          }
          before = teaches;
        }
      }
    }
  });
}

TEST(LoadingContract, SaysHowLongBeforeAndWhereGiltsStand) {
  loading().for_every([](const LoadingPolicy& policy) {
    const std::string text = policy.describe();
    EXPECT_NE(text.find(std::to_string(policy.days_before_due()) + " days"), std::string::npos) << text;
    const char* where = policy.gilt_places() == GiltPlaces::spread ? "spread over the room" : "side by side";
    EXPECT_NE(text.find(where), std::string::npos) << text;
  });
}

// Common practice, no source: every gilt is shown drinker and feeder within a day of loading, once.
TEST(GiltsTogether, StandardTeachesEveryGiltOnceWhenSheIsLoaded) {
  const auto policy = loading().policy("{}");
  EXPECT_EQ(policy->gilt_places(), GiltPlaces::side_by_side);
  EXPECT_EQ(policy->days_before_due(), 4);
  EXPECT_TRUE(policy->teach({.days_in_room = 0}));
  EXPECT_TRUE(policy->teach({.days_in_room = 3, .eaten_since_yesterday_kg = 3})) << "nobody had time before";
  for (const double eaten_kg_per_day : {0.0, 3.0}) EXPECT_EQ(lessons(*policy, eaten_kg_per_day), 1);
}

TEST(Teaching, GoesToWhomItIsMeantFor) {
  struct Row {
    const char* keys;
    int lessons_of_a_fasting_gilt, of_an_eating_one;
  };
  const Row rows[] = {
      {"{teach: everyone}", 1, 1},    {"{teach: everyone, again: true}", 5, 1},
      {"{teach: slow_to_eat}", 1, 0}, {"{teach: slow_to_eat, again: true}", 4, 0},
      {"{teach: nobody}", 0, 0},      {"{kind: gilts_spread, teach: slow_to_eat, again: true}", 4, 0},
  };
  for (const Row& row : rows) {
    std::string keys = row.keys;
    keys.insert(1, "days_before_due: 5, ");
    EXPECT_EQ(lessons(*loading().policy(keys), 0), row.lessons_of_a_fasting_gilt) << row.keys;
    EXPECT_EQ(lessons(*loading().policy(keys), 2.5), row.of_an_eating_one) << row.keys;
  }
}

TEST(Teaching, OfNobodyCannotBeRepeated) {
  EXPECT_THROW(loading().policy("{teach: nobody, again: true}"), ScenarioError);
}

}  // namespace
}  // namespace farrowtide
