// Summaries of a fixed run, rounded, beside what they were: a change that moves them is a results change and says so.
// To renew them after such a change: FARROWTIDE_RENEW_GOLDEN=1 golden
#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <sstream>
#include <string>

#include "libsim/run/replications.hpp"

namespace farrowtide {
namespace {

const std::string folder = std::string(FARROWTIDE_SOURCE_DIR) + "/tests/golden/";

std::string rounded(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.6g", value);
  return text;
}

double mean_of(const Column& column) {
  return std::visit(
      [](const auto& values) {
        double sum = 0;
        std::size_t known = 0;
        for (const auto value : values) {
          if (std::isnan(static_cast<double>(value))) continue;
          sum += static_cast<double>(value);
          ++known;
        }
        return known > 0 ? sum / static_cast<double>(known) : NAN;
      },
      column);
}

void describe(std::ostringstream& text, const Table& table) {
  text << "    \"" << table.name() << "\": {\"rows\": " << table.rows();
  for (std::size_t i = 1; i < table.infos().size(); ++i) {
    text << ",\n      \"" << table.infos()[i].name << "\": " << rounded(mean_of(table.column(i)));
  }
  text << "}";
}

std::string summary(const Scenario& scenario) {
  std::ostringstream text;
  text << "{\n  \"results_version\": " << results_version;
  for (const Variation& variation : scenario.alternatives()) {
    RunOptions options;
    options.replications = 3;
    options.seed = 2024;
    const RunResult result = run_replications(scenario.with_overrides(variation.overrides), options);
    text << ",\n  \"" << variation.name << "\": {\n    \"events\": " << result.events
         << ",\n    \"checks\": " << result.checks << ",\n";
    describe(text, result.tables.sows);
    text << ",\n";
    describe(text, result.tables.piglets);
    text << ",\n";
    describe(text, result.tables.tasks);
    text << "}";
  }
  text << "\n}\n";
  return text.str();
}

void expect_golden(const std::string& scenario_file, const std::string& golden_file) {
  const std::string now = summary(Scenario::load(std::string(FARROWTIDE_SOURCE_DIR) + "/scenarios/" + scenario_file));
  if (std::getenv("FARROWTIDE_RENEW_GOLDEN") != nullptr) std::ofstream(folder + golden_file) << now;
  std::ifstream file(folder + golden_file);
  std::stringstream before;
  before << file.rdbuf();
  EXPECT_EQ(now, before.str()) << "results changed: raise results_version, say \"Results change\" in CHANGELOG.md, "
                                  "renew with FARROWTIDE_RENEW_GOLDEN=1";
}

TEST(Golden, MealsADay) { expect_golden("feeding/meals_a_day.yaml", "meals_a_day.json"); }
TEST(Golden, ThreeSows) { expect_golden("teaching/three_sows.yaml", "three_sows.json"); }

}  // namespace
}  // namespace farrowtide
