// Pairs of runs of which it is known what may differ: the same scenario said otherwise, one thing more, one thing
// changed. Relations between random scenarios are in tests/soak/metamorphic.py.
#include <gtest/gtest.h>

#include <algorithm>
#include <cstring>
#include <map>
#include <string>
#include <vector>

#include "libsim/run/replications.hpp"

namespace farrowtide {
namespace {

RunResult run(const Scenario& scenario, int replications = 2, int first_replicate = 0) {
  RunOptions options;
  options.replications = replications;
  options.first_replicate = first_replicate;
  options.seed = 23;
  options.threads = 1;
  options.recording.events = options.recording.causes = true;
  return run_replications(scenario, options);
}

RunResult run(const std::string& yaml) { return run(Scenario::parse("title: A room\n" + yaml, "room.yaml")); }

std::vector<double> numbers(const Table& table, std::size_t column) {
  return std::visit([](const auto& values) { return std::vector<double>(values.begin(), values.end()); },
                    table.column(column));
}

std::size_t place_of(const Table& table, std::string_view name) {
  const auto infos = table.infos();
  const auto found = std::ranges::find(infos, name, &ColumnInfo::name);
  EXPECT_NE(found, infos.end()) << name;
  return static_cast<std::size_t>(found - infos.begin());
}

std::vector<double> numbers(const Table& table, std::string_view name) { return numbers(table, place_of(table, name)); }

// Rows as bytes, so that what is missing equals what is missing; only those that `wanted` takes, by row.
using Rows = std::vector<std::vector<double>>;
template <class Wanted>
Rows rows(const Table& table, Wanted wanted) {
  Rows all;
  std::vector<std::vector<double>> columns;
  for (std::size_t i = 0; i < table.infos().size(); ++i) columns.push_back(numbers(table, i));
  for (std::size_t row = 0; row < table.rows(); ++row) {
    if (!wanted(row)) continue;
    std::vector<double>& values = all.emplace_back();
    for (const auto& column : columns) values.push_back(column[row]);
  }
  return all;
}
Rows rows(const Table& table) {
  return rows(table, [](std::size_t) { return true; });
}

bool same(const std::vector<double>& one, const std::vector<double>& other) {
  return one.size() == other.size() && std::memcmp(one.data(), other.data(), one.size() * sizeof one[0]) == 0;
}
bool same(const Rows& one, const Rows& other) {
  return std::ranges::equal(one, other, [](const auto& a, const auto& b) { return same(a, b); });
}

void expect_same_tables(const RunResult& one, const RunResult& other) {
  const auto ours = one.tables.all(), theirs = other.tables.all();
  for (std::size_t i = 0; i < ours.size(); ++i) {
    EXPECT_GT(ours[i]->rows(), 0u) << ours[i]->name();
    EXPECT_TRUE(same(rows(*ours[i]), rows(*theirs[i]))) << ours[i]->name();
  }
}

// By definition: 1 lb is 0.45359237 kg, 1 inch 25.4 mm, 1 US gallon 231 cubic inches, 0 degC 32 degF.
TEST(Units, OfAScenarioChangeNoRecord) {
  const RunResult metric =
      run("room: {crates: 3, trough_capacity: 4.5359237, drinker_flow: 1.892705892}\n"
          "climate: {kind: imposed, temperature: 25}\n"
          "herd: {every_sow: {weight: 226.796185, backfat: 12.7}}\n"
          "attendance: {round_every: 45}\nfeeding: {kind: hand, allowance: {rule: flat, amount: 7}}\n");
  expect_same_tables(metric, run("room: {crates: 3, trough_capacity: 10 lb, drinker_flow: 0.5 gal/min}\n"
                                 "climate: {kind: imposed, temperature: 77 degF}\n"
                                 "herd: {every_sow: {weight: 500 lb, backfat: 0.5 in}}\n"
                                 "attendance: {round_every: 0.75 h}\n"
                                 "feeding: {kind: hand, allowance: {rule: flat, amount: 7000 g/d}}\n"));
}

TEST(Replication, OneMoreLeavesThoseBeforeItAsTheyWere) {
  const Scenario scenario = Scenario::parse("title: A room\nroom: {crates: 3}\n", "room.yaml");
  const RunResult two = run(scenario, 2), three = run(scenario, 3);
  const auto fewer = two.tables.all(), more = three.tables.all();
  for (std::size_t i = 0; i < fewer.size(); ++i) {
    const auto replicate = numbers(*more[i], "replicate");
    EXPECT_GT(std::ranges::count(replicate, 2.0), 0) << more[i]->name();
    EXPECT_TRUE(same(rows(*more[i], [&](std::size_t row) { return replicate[row] < 2; }), rows(*fewer[i])))
        << more[i]->name();
  }
}

TEST(Replication, IsTheSameRunAlone) {
  const Scenario scenario = Scenario::parse("title: A room\nroom: {crates: 3}\n", "room.yaml");
  const RunResult three = run(scenario, 3), last = run(scenario, 1, 2);
  const auto all = three.tables.all(), alone = last.tables.all();
  for (std::size_t i = 0; i < all.size(); ++i) {
    const auto replicate = numbers(*all[i], "replicate");
    EXPECT_TRUE(same(rows(*all[i], [&](std::size_t row) { return replicate[row] == 2; }), rows(*alone[i])))
        << all[i]->name();
  }
}

TEST(Alternatives, ThatAreTheSameGiveTheSameRecords) {
  const Scenario scenario = Scenario::parse(
      "title: Twins\nroom: {crates: 3}\nalternatives:\n  one: {feeding: {kind: full_access}}\n"
      "  twin: {feeding: {kind: full_access}}\n  other: {feeding: {kind: hand}}\n",
      "twins.yaml");
  std::map<std::string, RunResult> results;
  for (const Variation& variation : scenario.alternatives())
    results.emplace(variation.name, run(scenario.with_overrides(variation.overrides)));
  expect_same_tables(results.at("one"), results.at("twin"));
  EXPECT_FALSE(same(rows(results.at("one").tables.sow_days), rows(results.at("other").tables.sow_days)));
}

// Rooms in which no sow is anything to another one: climate imposed, nobody fostered, staff for everything at once.
std::string apart(const std::string& herd) {
  return "climate: {kind: imposed, temperature: 22}\nfostering: {kind: none}\nstaff: {shifts: [{from: \"00:00\", "
         "until: "
         "\"12:00\", people: 50}, {from: \"12:00\", until: \"00:00\", people: 50}]}\n" +
         herd;
}

void expect_others_the_same(const RunResult& one, const RunResult& other, double except_sow) {
  const std::pair<const Table*, const Table*> tables[] = {{&one.tables.sows, &other.tables.sows},
                                                          {&one.tables.sow_days, &other.tables.sow_days},
                                                          {&one.tables.piglets, &other.tables.piglets}};
  for (const auto& [ours, theirs] : tables) {
    const auto of_others = [&](const Table& table) {
      const auto sow = numbers(table, "sow");
      return rows(table, [&](std::size_t row) { return sow[row] != except_sow; });
    };
    EXPECT_FALSE(of_others(*ours).empty()) << ours->name();
    EXPECT_TRUE(same(of_others(*ours), of_others(*theirs))) << ours->name();
  }
}

TEST(Sow, OneMoreLeavesTheOthersAsTheyWereWhereTheyShareNothing) {
  expect_others_the_same(run(apart("room: {crates: 3}\n")), run(apart("room: {crates: 4}\n")), 4);
}

TEST(Sow, WhatSheWeighsReachesNoOtherWhereTheyShareNothing) {
  const auto room = [](const char* weight_kg) {
    const std::string sow = "{parity: 2, total_born: 13, backfat: 16, farrows_on_day: 5, weight: ";
    return run(
        apart("room: {crates: 3}\nherd: {sows: [" + sow + "220}, " + sow + weight_kg + "}, " + sow + "220}]}\n"));
  };
  const RunResult heavy = room("260"), light = room("220");
  expect_others_the_same(heavy, light, 2);
  EXPECT_FALSE(
      same(numbers(heavy.tables.sows, "weight_at_weaning_kg"), numbers(light.tables.sows, "weight_at_weaning_kg")));
}

// Sows that share air, staff and piglets: each is still drawn by her own number, and so are her piglets.
TEST(Sow, OneMoreLeavesWhatIsDrawnForTheOthers) {
  const std::string sharing = "fostering: {kind: fill_and_equalise}\nstaff: {shifts: [{people: 1}]}\n";
  const RunResult few = run("room: {crates: 6}\n" + sharing), many = run("room: {crates: 7}\n" + sharing);
  const auto of_six = [](const Table& table, const char* name) {
    const auto sow = numbers(table, "sow"), values = numbers(table, name);
    std::vector<double> found;
    for (std::size_t i = 0; i < sow.size(); ++i) {
      if (sow[i] <= 6) found.push_back(values[i]);
    }
    return found;
  };
  for (const char* name :
       {"parity", "total_born", "functional_teats", "gestation_length_d", "farrowing_start_h", "appetite_effect_log",
        "milk_effect_log", "duration_effect_log", "leg_trouble", "drinker_flow_l_per_min"})
    EXPECT_TRUE(same(of_six(few.tables.sows, name), of_six(many.tables.sows, name))) << name;
  for (const char* name : {"male", "birth_weight_kg", "birth_interval_drawn_min", "threshold_crushed",
                           "threshold_starved", "threshold_other"})
    EXPECT_TRUE(same(of_six(few.tables.piglets, name), of_six(many.tables.piglets, name))) << name;
  EXPECT_FALSE(same(of_six(few.tables.sows, "litter_weight_at_weaning_kg"),
                    of_six(many.tables.sows, "litter_weight_at_weaning_kg")))
      << "they do share";
}

// Everything that is told until the two worlds part.
double first_difference_h(const RunResult& one, const RunResult& other) {
  const Rows ours = rows(one.tables.events), theirs = rows(other.tables.events);
  const auto parted = std::ranges::mismatch(ours, theirs, [](const auto& a, const auto& b) { return same(a, b); });
  EXPECT_NE(parted.in1, ours.end()) << "the worlds are the same";
  return numbers(one.tables.events, "time_h").at(static_cast<std::size_t>(parted.in1 - ours.begin()));
}

RunResult run_one_room(const std::string& yaml) {
  return run(Scenario::parse("title: A room\nroom: {crates: 4}\n" + yaml, "room.yaml"), 1);
}

TEST(World, DiffersOnlyAfterTheMoveThatIsMadeInOneOfTwo) {
  const std::string herd = "herd: {every_sow: {farrows_on_day: 4}}\n";
  const double parted_h = first_difference_h(
      run_one_room(herd), run_one_room(herd + "moves: [{day: 9, time: \"10:00\", from: 1, to: 2, piglets: 2}]\n"));
  EXPECT_GE(parted_h, 9 * 24 + 10);
  EXPECT_LT(parted_h, 10 * 24);
}

TEST(World, DiffersOnlyFromTheDayOnOnWhichLittersAreProcessed) {
  const std::string herd = "herd: {every_sow: {farrows_on_day: 4}}\n";
  const double parted_h =
      first_difference_h(run_one_room(herd + "handling: {day: 3}\n"), run_one_room(herd + "handling: {day: 5}\n"));
  EXPECT_GE(parted_h, (4 + 3) * 24);
  EXPECT_LT(parted_h, (4 + 5) * 24);
}

TEST(World, DiffersOnlyFromTheDayOnOnWhichItIsWarmer) {
  const auto room = [](const char* deg_c) {
    return run_one_room(
        std::string("herd: {every_sow: {farrows_on_day: 4}}\nclimate: {kind: imposed, temperature_days: "
                    "[20, 20, 20, 20, 20, 20, 20, 20, ") +
        deg_c + "]}\n");
  };
  const double parted_h = first_difference_h(room("20"), room("26"));
  EXPECT_GE(parted_h, 8 * 24);
  EXPECT_LT(parted_h, 9 * 24);
}

TEST(World, DiffersOnlyAfterTheFirstBirthWhereOnlyLactationDoes) {
  const double parted_h = first_difference_h(
      run_one_room("herd: {every_sow: {farrows_on_day: 4}}\nfeeding: {kind: hand}\n"),
      run_one_room(
          "herd: {every_sow: {farrows_on_day: 4}}\nfeeding: {kind: hand, allowance: {rule: flat, amount: 9}}\n"));
  EXPECT_GE(parted_h, 4 * 24);
}

}  // namespace
}  // namespace farrowtide
