// Scenarios that withhold care say so, because every output must call them "for comparison only".
#include <gtest/gtest.h>

#include "libsim/run/scenario.hpp"

namespace farrowtide {
namespace {

std::vector<std::string> withheld_care(const std::string& policies) {
  const std::string text = "title: withheld care\nstart: 2024-01-15\nroom: {crates: 4}\n" + policies;
  return Scenario::parse(text, "test").withheld_care();
}

using Phrases = std::vector<std::string>;

TEST(WithheldCare, IsNoneInAnOrdinaryRoom) { EXPECT_EQ(withheld_care(""), Phrases{}); }

TEST(WithheldCare, NamesRoundsChecksTreatmentAndDrinkers) {
  EXPECT_EQ(withheld_care("attendance: {kind: none}\n"), Phrases{"births are not attended and no sow is helped"});
  EXPECT_EQ(withheld_care("care: {kind: watch_only}\n"), Phrases{"sick sows are not treated"});
  EXPECT_EQ(withheld_care("care: {kind: by_signs, treat: false}\n"), Phrases{"sick sows are not treated"});
  EXPECT_EQ(withheld_care("care: {kind: by_signs, checks: []}\n"), Phrases{"sows are not checked for illness"});
  EXPECT_EQ(withheld_care("water: {kind: every_drinker, every: 0}\n"), Phrases{"drinkers are not checked"});
}

TEST(WithheldCare, ListsAllThatIsWithheld) {
  EXPECT_EQ(withheld_care("attendance: {kind: none}\ncare: {kind: watch_only, checks: []}\n").size(), 3U);
}

TEST(WithheldCare, IsNotCheckingLessOften) {
  EXPECT_EQ(withheld_care("water: {kind: in_turn, every: 30}\n"), Phrases{});
  EXPECT_EQ(withheld_care("care: {kind: by_signs, checks: [udder], until_day: 1}\n"), Phrases{});
}

}  // namespace
}  // namespace farrowtide
