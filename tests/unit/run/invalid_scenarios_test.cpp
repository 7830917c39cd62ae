// Every file of scenarios/invalid has one mistake, and the message it must bring stands beside it.
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>

#include "libsim/run/scenario.hpp"

namespace farrowtide {
namespace {

namespace fs = std::filesystem;

const fs::path folder = fs::path(FARROWTIDE_SOURCE_DIR) / "scenarios" / "invalid";

std::string contents(const fs::path& path) {
  std::ifstream file(path);
  std::stringstream text;
  text << file.rdbuf();
  return text.str();
}

// The messages without the folder, one a line.
std::string messages(const fs::path& path) {
  std::string all;
  try {
    Scenario::load(path.string());
  } catch (const ScenarioError& error) {
    for (Mistake mistake : error.mistakes()) {
      if (mistake.source == path.string()) mistake.source = path.filename().string();
      all += one_line(mistake) + "\n";
    }
  }
  return all;
}

TEST(InvalidScenarios, BringTheMessageBesideThem) {
  int files = 0;
  for (const auto& entry : fs::directory_iterator(folder)) {
    if (entry.path().extension() != ".yaml") continue;
    ++files;
    const fs::path expected = fs::path(entry.path()).replace_extension(".txt");
    EXPECT_TRUE(fs::exists(expected)) << expected;
    EXPECT_EQ(messages(entry.path()), contents(expected)) << entry.path().filename();
  }
  EXPECT_GE(files, 30);
}

TEST(InvalidScenarios, HoldOneMistakeEach) {
  for (const auto& entry : fs::directory_iterator(folder)) {
    if (entry.path().extension() != ".txt") continue;
    const std::string text = contents(entry.path());
    EXPECT_EQ(std::ranges::count(text, '\n'), 1) << entry.path().filename();
  }
}

TEST(ValidScenarios, AreAccepted) {
  for (const char* name : {"feeding/meals_a_day.yaml", "teaching/three_sows.yaml"}) {
    EXPECT_NO_THROW(Scenario::load((folder.parent_path() / name).string())) << name;
  }
}

// All mistakes of a file are told at once, in order, those of the alternatives included.
TEST(Mistakes, AreToldAllAtOnce) {
  const std::string text =
      "title: \"Several\"\nroom: {crates: many, inlet: plein}\nherd: {milk_level: 9}\nalternatives:\n  a: "
      "{feeding.kind: hnad}\n";
  try {
    Scenario::parse(text, "several.yaml");
    FAIL() << "accepted";
  } catch (const ScenarioError& error) {
    std::vector<int> lines;
    for (const Mistake& mistake : error.mistakes()) lines.push_back(mistake.line);
    EXPECT_EQ(lines, (std::vector{2, 2, 3, 5}));
  }
}

}  // namespace
}  // namespace farrowtide
