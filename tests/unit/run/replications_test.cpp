// Runs as a whole: the same bytes whatever the threads, the same animals whatever the policy, nothing lost on the way.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>

#include "libsim/kernel/errors.hpp"
#include "libsim/run/replications.hpp"

namespace farrowtide {
namespace {

Scenario meals_a_day() {
  return Scenario::load(std::string(FARROWTIDE_SOURCE_DIR) + "/scenarios/feeding/meals_a_day.yaml");
}

RunOptions options(int replications, int threads) {
  RunOptions options;
  options.replications = replications;
  options.threads = threads;
  options.seed = 11;
  options.recording.events = options.recording.causes = true;
  return options;
}

// Bit for bit, not-a-number included.
bool same_bytes(const Table& one, const Table& other) {
  if (one.rows() != other.rows() || one.infos().size() != other.infos().size()) return false;
  for (std::size_t i = 0; i < one.infos().size(); ++i) {
    const bool same = std::visit(
        [&](const auto& values) {
          const auto& theirs = std::get<std::decay_t<decltype(values)>>(other.column(i));
          return std::memcmp(values.data(), theirs.data(), values.size() * sizeof values[0]) == 0;
        },
        one.column(i));
    if (!same) return false;
  }
  return true;
}

void expect_same(const RunResult& one, const RunResult& other) {
  const auto ours = one.tables.all(), theirs = other.tables.all();
  for (std::size_t i = 0; i < ours.size(); ++i) {
    EXPECT_GT(ours[i]->rows(), 0u) << ours[i]->name();
    EXPECT_TRUE(same_bytes(*ours[i], *theirs[i])) << ours[i]->name();
  }
}

std::vector<double> reals(const Table& table, std::string_view name) {
  for (std::size_t i = 0; i < table.infos().size(); ++i) {
    if (table.infos()[i].name != name) continue;
    return std::visit([](const auto& values) { return std::vector<double>(values.begin(), values.end()); },
                      table.column(i));
  }
  ADD_FAILURE() << "no column " << name;
  return {};
}

bool same_numbers(const std::vector<double>& one, const std::vector<double>& other) {
  return one.size() == other.size() && std::equal(one.begin(), one.end(), other.begin(), [](double a, double b) {
           return a == b || (std::isnan(a) && std::isnan(b));
         });
}

TEST(Replications, AreTheSameBytesOnOneAndTwoThreadsAndTwice) {
  const Scenario scenario = meals_a_day();
  const RunResult one = run_replications(scenario, options(6, 1));
  expect_same(one, run_replications(scenario, options(6, 2)));
  expect_same(one, run_replications(scenario, options(6, 2)));
}

TEST(Replications, OfAnotherSeedDiffer) {
  const Scenario scenario = meals_a_day();
  RunOptions other = options(2, 1);
  other.seed = 12;
  EXPECT_FALSE(
      same_bytes(run_replications(scenario, options(2, 1)).tables.sows, run_replications(scenario, other).tables.sows));
}

TEST(Replications, OfTwoBlocksJoinWithoutASeam) {
  const Scenario scenario = meals_a_day();
  RunResult whole = run_replications(scenario, options(4, 1));
  RunResult first = run_replications(scenario, options(3, 1));
  RunOptions rest = options(1, 1);
  rest.first_replicate = 3;
  const RunResult last = run_replications(scenario, rest);
  first.tables.sows.append(last.tables.sows);
  EXPECT_TRUE(same_bytes(first.tables.sows, whole.tables.sows));
}

TEST(Replications, StopWhenToldAndKeepTheFinishedOnes) {
  const Scenario scenario = meals_a_day();
  RunOptions stopped = options(4000, 2);
  stopped.recording = {.sow_days = false, .piglets = false, .room_hours = false, .tasks = false, .events = false};
  int reports = 0;
  stopped.progress = [&](int) { return ++reports < 3; };
  const RunResult result = run_replications(scenario, stopped);
  EXPECT_LT(result.replications, 4000);
  EXPECT_EQ(result.tables.sows.rows(), static_cast<std::size_t>(result.replications) * 24);
}

// Breaks off one of the rooms, counted from 0 in the order in which one thread runs them.
class Faulty final : public TemperaturePolicy {
 public:
  explicit Faulty(int faulty_room) : faulty_room_(faulty_room) {}
  double set_point_deg_c(const TemperatureView& view) const override {
    if (view.outdoor_mean_deg_c == std::nullopt && view.hour == 1 && room_++ == faulty_room_)
      throw InternalError("the model broke");
    return 20;
  }
  std::string describe() const override { return "20 degC"; }

 private:
  int faulty_room_;
  mutable int room_ = 0;
};

Scenario breaking_in(int room) {
  PolicyCatalogues catalogues = PolicyCatalogues::built_in();
  catalogues.temperature.push_back(
      {"faulty", "Breaks off.", [room](Section&) { return std::make_shared<const Faulty>(room); }});
  return Scenario::parse("title: One bad room\nroom: {crates: 4}\ntemperature: {kind: faulty}\n", "test", catalogues);
}

TEST(Replications, SetAsideARoomThatBreaksOffAndKeepTheRest) {
  RunOptions three = options(3, 1);
  three.first_replicate = 5;
  const RunResult result = run_replications(breaking_in(1), three), whole = run_replications(breaking_in(-1), three);
  EXPECT_EQ(result.replications, 3);
  ASSERT_EQ(result.set_aside.size(), 1u);
  EXPECT_EQ(result.set_aside[0].replicate, 6);
  EXPECT_NE(result.set_aside[0].fault.find("the model broke"), std::string::npos);
  EXPECT_TRUE(whole.set_aside.empty());
  std::vector<double> expected = reals(whole.tables.sows, "weaned");
  const std::vector<double> replicate = reals(whole.tables.sows, "replicate");
  ASSERT_EQ(std::set(replicate.begin(), replicate.end()), (std::set<double>{5, 6, 7}));
  expected.erase(expected.begin() + (std::ranges::find(replicate, 6) - replicate.begin()),
                 expected.begin() + (std::ranges::find(replicate, 7) - replicate.begin()));
  EXPECT_EQ(reals(result.tables.sows, "weaned"), expected) << "the other rooms are as they would have been";
}

// Feeding before farrowing is the same under all of them; so is what a sow brings with her and what fate holds.
TEST(Pairing, KeepsTheSameAnimalsUnderEveryFeedingPolicy) {
  const Scenario scenario = meals_a_day();
  ASSERT_EQ(scenario.alternatives().size(), 5u);
  std::map<std::string, RunResult> results;
  for (const Variation& variation : scenario.alternatives()) {
    results.emplace(variation.name, run_replications(scenario.with_overrides(variation.overrides), options(5, 2)));
  }
  const RunResult& reference = results.at("2 hand feeds");
  for (const auto& [name, result] : results) {
    SCOPED_TRACE(name);
    for (const char* column : {"sow", "parity", "total_born", "farrowing_start_h", "gestation_length_d",
                               "appetite_effect_log", "milk_effect_log"}) {
      EXPECT_TRUE(same_numbers(reals(result.tables.sows, column), reals(reference.tables.sows, column))) << column;
    }
    for (const char* column : {"sow", "birth_order", "male", "birth_weight_kg", "birth_interval_drawn_min",
                               "threshold_crushed", "threshold_starved", "threshold_other"}) {
      EXPECT_TRUE(same_numbers(reals(result.tables.piglets, column), reals(reference.tables.piglets, column)))
          << column;
    }
  }
  const auto eaten = [&](const char* name) { return reals(results.at(name).tables.sows, "feed_intake_kg_per_day"); };
  EXPECT_FALSE(same_numbers(eaten("full access"), eaten("2 hand feeds"))) << "the policies themselves must differ";
}

RunOptions in_one_stream(RunOptions options) {
  options.draws = DrawOrder::one_stream;
  return options;
}

RunResult run_alternative(const char* name, const RunOptions& options) {
  const Scenario scenario = meals_a_day();
  const auto all = scenario.alternatives();
  const auto chosen = std::ranges::find(all, name, &Variation::name);
  return run_replications(scenario.with_overrides(chosen->overrides), options);
}

TEST(OneStream, IsTheSameBytesOnOneAndTwoThreadsAndTwice) {
  const Scenario scenario = meals_a_day();
  const RunResult one = run_replications(scenario, in_one_stream(options(6, 1)));
  expect_same(one, run_replications(scenario, in_one_stream(options(6, 2))));
  expect_same(one, run_replications(scenario, in_one_stream(options(6, 1))));
}

TEST(OneStream, OfTwoBlocksJoinsWithoutASeam) {
  const Scenario scenario = meals_a_day();
  const RunResult whole = run_replications(scenario, in_one_stream(options(2, 1)));
  RunResult first = run_replications(scenario, in_one_stream(options(1, 1)));
  RunOptions rest = in_one_stream(options(1, 1));
  rest.first_replicate = 1;
  first.tables.sows.append(run_replications(scenario, rest).tables.sows);
  EXPECT_TRUE(same_bytes(first.tables.sows, whole.tables.sows));
}

// What feed at hand draws more (meals) pushes every later draw on: other litters. By address nothing moves.
TEST(OneStream, GivesOtherLittersWhereAPolicyDrawsMoreAndKeyedDrawsDoNot) {
  for (const bool keyed : {true, false}) {
    SCOPED_TRACE(keyed ? "keyed" : "one stream");
    const RunOptions chosen = keyed ? options(2, 2) : in_one_stream(options(2, 2));
    const RunResult two = run_alternative("2 hand feeds", chosen), full = run_alternative("full access", chosen);
    for (const char* column : {"birth_weight_kg", "male", "birth_interval_drawn_min", "threshold_crushed"}) {
      EXPECT_EQ(same_numbers(reals(two.tables.piglets, column), reals(full.tables.piglets, column)), keyed) << column;
    }
    EXPECT_TRUE(same_numbers(reals(two.tables.sows, "parity"), reals(full.tables.sows, "parity")))
        << "drawn at loading, before the policies differ";
  }
}

struct Spread {
  double mean = 0, error = 0;
};

// Mean and its standard error over rooms, a room being the mean of its sows.
Spread over_rooms(const RunResult& result, std::string_view column) {
  const auto values = reals(result.tables.sows, column), rooms = reals(result.tables.sows, "replicate");
  std::map<double, std::pair<double, int>> sums;
  for (std::size_t i = 0; i < values.size(); ++i) {
    if (std::isnan(values[i])) continue;
    sums[rooms[i]].first += values[i];
    ++sums[rooms[i]].second;
  }
  const double n = static_cast<double>(sums.size());
  Spread spread;
  for (const auto& [room, sum] : sums) spread.mean += sum.first / sum.second / n;
  for (const auto& [room, sum] : sums) {
    spread.error += std::pow(sum.first / sum.second - spread.mean, 2) / (n * (n - 1));
  }
  spread.error = std::sqrt(spread.error);
  return spread;
}

// Another order of the same kind of numbers: the same distributions. z = 4 on means over 120 rooms of 24 sows each.
TEST(OneStream, HasTheDistributionsOfKeyedDraws) {
  RunOptions many = options(120, 2);
  many.recording = {.sow_days = false, .piglets = false, .room_hours = false, .tasks = false, .events = false};
  const RunResult keyed = run_alternative("2 hand feeds", many);
  const RunResult in_order = run_alternative("2 hand feeds", in_one_stream(many));
  for (const char* column :
       {"total_born", "stillborn", "weaned", "died_before_weaning", "feed_intake_kg_per_day", "weight_loss_kg",
        "litter_weight_at_weaning_kg", "farrowing_duration_min", "meals_per_day", "water_l_per_day", "scours"}) {
    const Spread one = over_rooms(keyed, column), other = over_rooms(in_order, column);
    EXPECT_LT(std::abs(one.mean - other.mean), 4 * std::hypot(one.error, other.error)) << column;
    EXPECT_GT(one.error, 0) << column;
    EXPECT_NE(one.mean, other.mean) << column << ": the two must not be the same numbers";
  }
}

TEST(Conservation, IsCheckedForEverySowDayLitterAndRoom) {
  const RunResult result = run_replications(meals_a_day(), options(3, 1));
  const auto sow_days = result.tables.sow_days.rows(), sows = result.tables.sows.rows();
  EXPECT_EQ(result.checks, 2 * sow_days + 2 * sows + 2 * 3)
      << "feed and energy a sow-day, births and litter of a sow, staff minutes and work by hour of a room";
}

TEST(Conservation, HoldsInTheRowsThemselves) {
  const RunResult result = run_replications(meals_a_day(), options(3, 1));
  const Table& days = result.tables.sow_days;
  const auto offered = reals(days, "offered_kg"), eaten = reals(days, "eaten_kg"), wasted = reals(days, "wasted_kg"),
             removed = reals(days, "removed_kg"), left = reals(days, "in_trough_at_midnight_kg"),
             sow = reals(days, "sow");
  double before_kg = 0;
  for (std::size_t i = 0; i < offered.size(); ++i) {
    if (i == 0 || sow[i] != sow[i - 1]) before_kg = 0;  // she comes to an empty trough
    EXPECT_NEAR(before_kg + offered[i], eaten[i] + wasted[i] + removed[i] + left[i], 1e-9);
    before_kg = left[i];
  }
  const Table& sows = result.tables.sows;
  const auto born = reals(sows, "total_born"), alive = reals(sows, "born_alive"), dead = reals(sows, "stillborn"),
             weaned = reals(sows, "weaned"), died = reals(sows, "died_before_weaning"),
             came = reals(sows, "piglets_moved_in"), went = reals(sows, "piglets_moved_out");
  for (std::size_t i = 0; i < born.size(); ++i) {
    EXPECT_EQ(born[i], alive[i] + dead[i]);
    EXPECT_EQ(alive[i] + came[i], weaned[i] + died[i] + went[i]);
  }
}

}  // namespace
}  // namespace farrowtide
