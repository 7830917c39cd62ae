// Waits for a threshold under a hazard that changes: against sums by hand, and against exponential waiting times.
#include "libsim/kernel/hazard.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include "libsim/kernel/random.hpp"

namespace farrowtide {
namespace {

/// One wait; when and how it ended.
struct World {
  double per_day = 0;
  Signal changed;
  std::optional<Time> ended;
  bool reached = false;
  int asked = 0;
  Simulation clock;

  Simulation& simulation() { return clock; }
};

Process<> under_present_rate(World& world, double threshold) {
  const auto rate = [&world]() -> std::optional<HazardRate> {
    ++world.asked;
    return HazardRate{.per_day = world.per_day, .changed = &world.changed};
  };
  world.reached = co_await threshold_reached(world.clock, threshold, rate);
  world.ended = world.clock.now();
}

/// The first piece lasts so many days, the second for ever.
struct Pieces {
  double first_per_day, first_d, second_per_day;
};

Process<> under_pieces(World& world, double threshold, Pieces pieces, Duration margin) {
  const auto rate = [&world, pieces]() -> std::optional<HazardRate> {
    if (world.asked++ == 0) return HazardRate{.per_day = pieces.first_per_day, .holds_for_d = pieces.first_d};
    return HazardRate{.per_day = pieces.second_per_day};
  };
  world.reached = co_await threshold_reached(world.clock, threshold, rate, margin);
  world.ended = world.clock.now();
}

Time ended_under(double threshold, Pieces pieces, Duration margin = 0_s) {
  World world;
  world.clock.spawn(under_pieces(world, threshold, pieces, margin));
  world.clock.run();
  EXPECT_TRUE(world.reached);
  return *world.ended;
}

TEST(Hazard, ReachesItsThresholdAfterThresholdOverRate) {
  World world;
  world.per_day = 0.5;
  world.clock.spawn(under_present_rate(world, 1.25));
  world.clock.run();
  EXPECT_TRUE(world.reached);
  EXPECT_EQ(*world.ended, Time{} + 60_h);
  EXPECT_EQ(world.clock.events_fired(), 2u) << "the start and the end, nothing in between";
}

TEST(Hazard, SumsUpPieceByPiece) {
  EXPECT_EQ(ended_under(0.75, {.first_per_day = 1, .first_d = 2, .second_per_day = 4}), Time{} + 18_h);
  EXPECT_EQ(ended_under(2, {.first_per_day = 1, .first_d = 2, .second_per_day = 4}), Time{} + 48_h);
  EXPECT_EQ(ended_under(4, {.first_per_day = 1, .first_d = 2, .second_per_day = 4}), Time{} + 60_h);
  EXPECT_EQ(ended_under(1, {.first_per_day = 0, .first_d = 2, .second_per_day = 4}), Time{} + 54_h);
}

TEST(Hazard, WaitsAMarginLongerForEachPiece) {
  EXPECT_EQ(ended_under(0.75, {.first_per_day = 1, .first_d = 2, .second_per_day = 4}, 1_s), Time{} + 18_h + 1_s);
  // The second of margin counts for the sum: 2 days and 1 s at rate 1, so 0.25 s less at rate 4, rounded away.
  EXPECT_EQ(ended_under(4, {.first_per_day = 1, .first_d = 2, .second_per_day = 4}, 1_s), Time{} + 60_h + 2_s);
}

TEST(Hazard, TakesUpAChangedRateAtOnce) {
  World world;
  world.per_day = 1;
  world.clock.spawn(under_present_rate(world, 3));
  world.clock.run_until(Time{} + 24_h);
  world.per_day = 4;
  world.changed.fire();
  world.clock.run();
  EXPECT_EQ(*world.ended, Time{} + 36_h);
  EXPECT_EQ(world.asked, 2);
}

TEST(Hazard, StandsStillAtRateZeroUntilItChanges) {
  World world;
  world.clock.spawn(under_present_rate(world, 1));
  world.clock.run_until(Time{} + 240_h);
  EXPECT_FALSE(world.ended);
  world.per_day = 2;
  world.changed.fire();
  world.clock.run();
  EXPECT_EQ(*world.ended, Time{} + 252_h);
}

TEST(Hazard, IsThereAlreadyWhereNothingIsLeftToReach) {
  World world;
  world.clock.spawn(under_present_rate(world, 0));
  world.clock.run();
  EXPECT_TRUE(world.reached);
  EXPECT_EQ(*world.ended, Time{});
  EXPECT_EQ(world.asked, 0);
}

Process<> until_too_old(World& world) {
  const auto rate = [&world]() -> std::optional<HazardRate> {
    if (world.clock.now() >= Time{} + 3_d) return std::nullopt;
    return HazardRate{.per_day = 0.1, .holds_for_d = 1};
  };
  world.reached = co_await threshold_reached(world.clock, 1, rate);
  world.ended = world.clock.now();
}

TEST(Hazard, EndsUnreachedWhereThereIsNoHazardAnyMore) {
  World world;
  world.reached = true;
  world.clock.spawn(until_too_old(world));
  world.clock.run();
  EXPECT_FALSE(world.reached);
  EXPECT_EQ(*world.ended, Time{} + 3_d);
}

// Share of unit-exponential thresholds that are not reached by a time: exp(-sum of the hazard) within 4 standard
// errors.
TEST(Hazard, GivesExponentialWaitingTimesPieceByPiece) {
  constexpr int waits = 20000;
  constexpr Pieces pieces{.first_per_day = 0.3, .first_d = 2, .second_per_day = 1.1};
  std::vector<double> ended_d;
  for (std::uint32_t i = 0; i < waits; ++i)
    ended_d.push_back((ended_under(exponential(StreamKey{7, 0, i, 1}), pieces) - Time{}).days());
  for (const double day : {0.5, 1.0, 2.0, 2.5, 3.0, 5.0}) {
    const double sum = day <= 2 ? 0.3 * day : 0.6 + 1.1 * (day - 2);
    const double expected = std::exp(-sum);
    const auto left = static_cast<double>(std::ranges::count_if(ended_d, [&](double end) { return end > day; }));
    EXPECT_NEAR(left / waits, expected, 4 * std::sqrt(expected * (1 - expected) / waits)) << "day " << day;
  }
}

}  // namespace
}  // namespace farrowtide
