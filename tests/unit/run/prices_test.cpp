// The section `prices`: no price has a default, and what would be counted twice or among alternatives unalike is
// refused.
#include <gtest/gtest.h>

#include <string>

#include "libsim/run/scenario.hpp"

namespace farrowtide {
namespace {

Scenario with(const std::string& sections) { return Scenario::parse("title: prices\n" + sections, "test"); }

std::string mistake(const std::string& sections) {
  try {
    with(sections);
  } catch (const ScenarioError& error) {
    return error.mistakes().size() == 1 ? one_line(error.mistakes().front()) : "several mistakes";
  }
  return "none";
}

TEST(Prices, AreNoneUnlessGiven) {
  EXPECT_FALSE(with("").prices());
  const Prices prices = *with("prices: {currency: EUR, feed_per_kg: 0.35}\n").prices();
  ASSERT_EQ(prices.given.size(), 1U);
  EXPECT_EQ(prices.given.front(), std::pair(std::string("feed_per_kg"), 0.35));
  EXPECT_EQ(prices.change.per_crate + prices.change.once + prices.change.per_crate_and_year, 0);
  EXPECT_FALSE(prices.matters_per_litter);
}

TEST(Prices, OfZeroAreGiven) {
  EXPECT_EQ(with("prices: {currency: EUR, feed_per_kg: 0, weaned_kg: 2}\n").prices()->given.size(), 2U);
}

TEST(Prices, NeedOneAboveZero) {
  EXPECT_NE(mistake("prices: {currency: EUR, feed_per_kg: 0}\n").find("has no price above 0"), std::string::npos);
}

TEST(Prices, AreNotNegative) { EXPECT_NE(mistake("prices: {currency: EUR, feed_per_kg: -1}\n"), "none"); }

TEST(Prices, HaveACurrencyOfOneWord) {
  EXPECT_EQ(with("prices: {currency: '€', weaned_kg: 2}\n").prices()->currency, "€");
  for (const char* currency : {"'[red]'", "'two words'", "'a very long name'", "'%'", "''"}) {
    EXPECT_NE(mistake(std::string("prices: {weaned_kg: 2, currency: ") + currency + "}\n").find("currency"),
              std::string::npos)
        << currency;
  }
}

TEST(Prices, OfChangeCanBeThoseOfAnAlternative) {
  const Scenario both = with(
      "prices: {currency: EUR, weaned_kg: 2}\n"
      "alternatives: {a: {}, b: {prices.change: {per_crate: 80, lasts_years: 8}}}\n");
  EXPECT_EQ(both.alternative("a").prices()->change.per_crate, 0);
  EXPECT_EQ(both.alternative("b").prices()->change.per_crate, 80);
}

TEST(Prices, MayDifferBetweenCasesButNotInWhatTheyCount) {
  const std::string written = "prices: {currency: EUR, weaned_kg: 2}\n";
  EXPECT_EQ(mistake(written + "cases: {dear: {prices.weaned_kg: 3}}\n"), "none");
  for (const char* change : {"prices.feed_per_kg: 1", "prices.currency: USD", "prices.matters_per_litter: 1"}) {
    EXPECT_NE(mistake(written + "cases: {other: {" + change + "}}\n").find("counts other things"), std::string::npos);
  }
}

TEST(CrateTurn, IsTheStayWithWashingAndDryingOrTheTimetable) {
  EXPECT_EQ(with("loading: {days_before_due: 4}\ngroup: {lactation_days: 21}\n").farm().crate_turn_days(), 28);
  const Scenario farm = with("farm: {groups: 2, group_every: 14, rooms: 6, rooms_per_group: 2}\n");
  EXPECT_EQ(farm.farm().crate_turn_days(), 42);
}

}  // namespace
}  // namespace farrowtide
