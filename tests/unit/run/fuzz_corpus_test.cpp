// The inputs that fuzzing found worth keeping, with any compiler; and the checker itself.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <limits>
#include <string>

#include "tests/fuzz/overlay.hpp"
#include "tests/fuzz/random_scenario.hpp"

namespace farrowtide {
namespace {

template <class Judge>
int for_each_input(const char* target, Judge judge) {
  int files = 0;
  for (const auto& entry :
       std::filesystem::directory_iterator(std::string(FARROWTIDE_SOURCE_DIR "/tests/fuzz/corpus/") + target)) {
    std::ifstream file(entry.path(), std::ios::binary);
    judge(std::string{std::istreambuf_iterator<char>(file), {}}, entry.path().string());
    ++files;
  }
  return files;
}

Outcome judged_text(const std::string& bytes) {
  return judged(reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size());
}

TEST(FuzzCorpus, OfRandomScenariosRunsOrIsRefused) {
  int refused = 0, simulated = 0;
  std::uint64_t checks = 0;
  for_each_input("random_scenarios", [&](const std::string& bytes, const std::string& path) {
    const Outcome outcome = judged_text(bytes);
    EXPECT_EQ(outcome.breach, "") << path;
    refused += outcome.refused_as_drawn;
    simulated += outcome.simulated;
    checks += outcome.checks;
  });
  EXPECT_GT(refused, 0);
  EXPECT_GT(simulated, 10);
  EXPECT_GT(checks, 100u);
}

TEST(FuzzCorpus, OfOverlaysIsReadOrRefused) {
  const int files = for_each_input("overlay_reader", [](const std::string& text, const std::string& path) {
    EXPECT_EQ(breach_in_overlay(text), "") << path;
  });
  EXPECT_GE(files, 5);
}

TEST(FuzzedScenario, OfNoBytesIsTheSimplest) {
  const Outcome outcome = judged_text("");
  EXPECT_EQ(outcome.breach, "");
  EXPECT_FALSE(outcome.refused_as_drawn);
  EXPECT_TRUE(outcome.simulated);
}

TEST(FuzzedScenario, LosesTheKeysThatAreMistaken) {
  Drawn inner{.kind = Drawn::Kind::mapping, .entries = {{"b.c", {.text = "1"}}, {"d", {.text = "2"}}}};
  Drawn drawn{.kind = Drawn::Kind::mapping, .entries = {{"a", inner}, {"e", {.text = "3"}}}};
  EXPECT_TRUE(drop(drawn, "a.b.c"));
  EXPECT_EQ(as_file(drawn), "\"a\": {\"d\": 2}\n\"e\": 3\n");
  EXPECT_TRUE(drop(drawn, "e.0.f"));
  EXPECT_EQ(as_file(drawn), "\"a\": {\"d\": 2}\n");
  EXPECT_FALSE(drop(drawn, "g"));
}

TEST(FuzzedScenario, CheckerSeesAnInfiniteNumberAMissingOneAndALostPiglet) {
  RoomTables tables = blank_rows();
  EXPECT_EQ(not_finite(tables), "");
  tables.sow_days.add({.eaten_kg = missing});
  EXPECT_EQ(not_finite(tables), "sow_days.eaten_kg");

  tables = {};
  EventRow row;
  row.amount = std::numeric_limits<double>::infinity();
  tables.events.add(row);
  EXPECT_EQ(not_finite(tables), "events.amount");

  tables = {};
  const Scenario scenario = Scenario::parse("title: t\nroom: {crates: 1}\n", "text");
  const Biology biology{scenario.coefficients()};
  Farm farm(scenario.farm(), biology, Draws{}, Recording{}, tables);
  farm.begin();
  farm.clock.run_until(Time{} + 7 * 1_d);
  Ledger ledger;
  check_litters(farm, ledger);
  ++farm.groups.front().sows.front().litter.died;
  EXPECT_THROW(check_litters(farm, ledger), InternalError);
}

}  // namespace
}  // namespace farrowtide
