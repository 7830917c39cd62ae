// Water, learning, illness, checks, loss and moves, seen in what a room records.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

#include "tests/unit/model/simulated_farm.hpp"

namespace farrowtide {
namespace {

constexpr const char* chamber = "room: {crates: 12}\nclimate: {kind: imposed, temperature: 20}\n";
const std::string gilts = std::string(chamber) + "herd: {health: off, every_sow: {parity: 1}}\n";

double mean(const std::vector<double>& values) {
  double sum = 0;
  int known = 0;
  for (const double value : values) {
    if (std::isnan(value)) continue;
    sum += value;
    ++known;
  }
  return sum / known;
}

std::vector<SimulatedFarm::Event> of_kind(const SimulatedFarm& room, EventKind kind) {
  auto events = room.events();
  std::erase_if(events, [&](const auto& event) { return event.what != kind; });
  return events;
}

TEST(Drinker, ThatClogsCostsAppetiteUntilACheckFindsIt) {
  const std::vector<std::pair<std::string, double>> often = {{"room.drinkers.partial_block_hazard", 0.2},
                                                             {"room.drinkers.full_block_hazard", 0.2}};
  const std::string healthy = std::string(chamber) + "herd: {health: off}\n";
  const SimulatedFarm daily(healthy, 0, often), never(healthy + "water: {every: 0}\n", 0, often);
  for (const SimulatedFarm* room : {&daily, &never})
    EXPECT_GT(of_kind(*room, EventKind::drinker_clogged).size(), 8) << "0.4 a day for 12 crates and 25 days";
  EXPECT_EQ(of_kind(never, EventKind::drinker_mended).size(), 0);
  const auto clogged = of_kind(daily, EventKind::drinker_clogged), mended = of_kind(daily, EventKind::drinker_mended);
  for (const auto& found : mended) {
    const bool was_clogged = std::ranges::any_of(clogged, [&](const auto& event) {
      return event.sow == found.sow && event.time_h <= found.time_h && found.time_h - event.time_h < 72;
    });
    EXPECT_TRUE(was_clogged) << "checked on the next working morning";
  }
  const auto eaten = [](const SimulatedFarm& room) { return mean(room.column(room.tables().sow_days, "eaten_kg")); };
  EXPECT_LT(eaten(never), 0.7 * eaten(daily)) << "a sow without water stops eating after 12 h";
}

TEST(Drinker, NeverClogsWhereAScenarioSaysSo) {
  const SimulatedFarm room("room: {crates: 12, drinker_blockages: off}\nclimate: {kind: imposed}\n", 0,
                           {{"room.drinkers.full_block_hazard", 1}});
  EXPECT_EQ(of_kind(room, EventKind::drinker_clogged).size(), 0);
}

TEST(Gilt, ThatIsTaughtLearnsWithinADayOfLoadingAndEatsBeforeTheOthersDo) {
  const std::vector<std::pair<std::string, double>> nobody_knows = {{"sow.learning.knows_drinker_at_loading", 0.0}};
  double ready_taught = 0, ready_alone = 0, early_taught_kg = 0, early_alone_kg = 0;
  for (std::uint32_t replicate = 0; replicate < 4; ++replicate) {
    const SimulatedFarm taught(gilts + "loading: {teach: everyone}\n", replicate, nobody_knows);
    const SimulatedFarm alone(gilts + "loading: {teach: nobody}\n", replicate, nobody_knows);
    const auto learned = [](const SimulatedFarm& room) {
      return mean(room.column(room.tables().sows, "learned_drinker_h"));
    };
    EXPECT_LT(learned(taught), 16) << "shown when she is loaded, learned within hours";
    EXPECT_GT(learned(alone), learned(taught) + 12);
    const auto ready = [](const SimulatedFarm& room) { return mean(room.column(room.tables().sows, "ready_in_time")); };
    ready_taught += ready(taught) / 4;
    ready_alone += ready(alone) / 4;
    const auto early = [](const SimulatedFarm& room) {
      return mean(room.column(room.tables().sows, "pre_farrow_intake_kg_per_day"));
    };
    early_taught_kg += early(taught) / 4;
    early_alone_kg += early(alone) / 4;
    EXPECT_EQ(of_kind(taught, EventKind::gilt_trained).size(), 12) << "each once: nobody sees who has learned already";
  }
  EXPECT_LT(early_alone_kg, 0.8 * early_taught_kg);
  EXPECT_GT(ready_taught, 0.9);
  EXPECT_LT(ready_alone, 0.6) << "1 - exp(-0.5) after a day";
}

TEST(Gilt, LearnsToDrinkAndToEatAsTwoThings) {
  const std::string strange = std::string(chamber) + "herd: {health: off, new_feeder: true, every_sow: {parity: 1}}\n";
  const SimulatedFarm room(
      strange + "loading: {teach: nobody}\n", 0,
      {{"sow.learning.knows_drinker_at_loading", 0.0}, {"sow.learning.knows_new_feeder_at_loading", 0.0}});
  const auto drinker = room.column(room.tables().sows, "learned_drinker_h"),
             feeder = room.column(room.tables().sows, "learned_feeder_h");
  int drinker_first = 0, feeder_first = 0;
  for (std::size_t i = 0; i < drinker.size(); ++i) {
    drinker_first += drinker[i] < feeder[i];
    feeder_first += feeder[i] < drinker[i];
  }
  EXPECT_GT(drinker_first, 1);
  EXPECT_GT(feeder_first, 1);
  const SimulatedFarm knows_feeder(gilts, 0, {{"sow.learning.knows_drinker_at_loading", 0.0}});
  for (const double hours : knows_feeder.column(knows_feeder.tables().sows, "learned_feeder_h")) EXPECT_EQ(hours, 0);
}

TEST(Disorder, TakesAppetiteAndMilkWhileItLasts) {
  const std::vector<std::pair<std::string, double>> all_ill = {{"sow.post_partum_disorder.risk.intercept", 20.0}};
  const std::string care = "care: {checks: []}\n";
  const SimulatedFarm ill(std::string(chamber) + care, 0, all_ill);
  const SimulatedFarm well(std::string(chamber) + care + "herd: {health: off}\n");
  const auto first_week = [](const SimulatedFarm& room) {
    return mean(room.column(room.tables().sows, "feed_intake_d1_7_kg_per_day"));
  };
  EXPECT_LT(first_week(ill), 0.75 * first_week(well)) << "half the appetite for five days on average";
  EXPECT_GT(mean(ill.column(ill.tables().sows, "disorder_days")), 3);
  EXPECT_EQ(of_kind(well, EventKind::fell_ill).size(), 0);
}

TEST(Disorder, EndsSoonerWhenItIsFoundAndTreated) {
  const std::vector<std::pair<std::string, double>> all_ill = {{"sow.post_partum_disorder.risk.intercept", 20.0}};
  double treated_d = 0, untreated_d = 0;
  for (std::uint32_t replicate = 0; replicate < 6; ++replicate) {
    const SimulatedFarm treated(
        std::string(chamber) + "care: {checks: [temperature, nursing, not_eaten], signs_to_treat: 1}\n", replicate,
        all_ill);
    const SimulatedFarm untreated(std::string(chamber) + "care: {treat: false}\n", replicate, all_ill);
    treated_d += mean(treated.column(treated.tables().sows, "disorder_days"));
    untreated_d += mean(untreated.column(untreated.tables().sows, "disorder_days"));
    for (const double hour : untreated.column(untreated.tables().sows, "treated_h")) EXPECT_TRUE(std::isnan(hour));
  }
  EXPECT_LT(treated_d, 0.8 * untreated_d) << "hazard of recovery 0.2 a day untreated, 0.5 treated";
}

// 0.3 a day from the first day on: nearly all have recovered a week later, and eat as sows do that never were lame.
TEST(Legs, RecoverOnlyOfSowsThatWereTreated) {
  const std::string herd = std::string(chamber) + "herd: {every_sow: {parity: 3, total_born: 12}}\n";
  const std::string treated = "care: {kind: by_signs, legs_at_loading: true}\n";
  const auto second_half = [](const SimulatedFarm& room) {
    const auto day = room.column(room.tables().sow_days, "day"),
               eaten_kg = room.column(room.tables().sow_days, "eaten_kg");
    std::vector<double> found;
    for (std::size_t i = 0; i < day.size(); ++i)
      if (day[i] >= 10) found.push_back(eaten_kg[i]);
    return mean(found);
  };
  const auto with = [](double prevalence, double per_day) {
    return std::vector<std::pair<std::string, double>>{{"sow.legs.prevalence", prevalence},
                                                       {"sow.legs.appetite_multiplier", 0.85},
                                                       {"sow.legs.recovery_treated", per_day},
                                                       {"sow.signs.legs_sensitivity", 1.0}};
  };
  const double sound = second_half(SimulatedFarm(herd + treated, 0, with(0, 0.3)));
  const double lame = second_half(SimulatedFarm(herd + treated, 0, with(1, 0)));
  const double untreated = second_half(SimulatedFarm(herd, 0, with(1, 0.3)));
  const double recovered = second_half(SimulatedFarm(herd + treated, 0, with(1, 0.3)));
  EXPECT_LT(lame, 0.92 * sound);
  EXPECT_NEAR(untreated, lame, 0.02 * lame) << "only treatment ends it";
  EXPECT_NEAR(recovered, sound, 0.03 * sound);
}

TEST(Check, OfRectalTemperatureIsMadeAtTheFirstStaffedMinuteAfterADay) {
  const SimulatedFarm room(chamber);
  std::map<int, double> farrowed_h;
  for (const auto& event : of_kind(room, EventKind::farrowing_finished)) farrowed_h[event.sow] = event.time_h;
  int night = 0;
  for (const auto& check : of_kind(room, EventKind::temperature_taken)) {
    const double due_h = farrowed_h.at(check.sow) + 24, hour = std::fmod(due_h, 24.0);
    EXPECT_GE(check.time_h, due_h);
    if (hour > 16 || hour < 7) ++night;
    EXPECT_LT(check.time_h - due_h, 24) << "sow " << check.sow;
  }
  EXPECT_EQ(of_kind(room, EventKind::temperature_taken).size(), 12);
  EXPECT_GT(night, 0) << "some fell due when nobody was there";
}

TEST(Loss, EndsAStayAndBringsThePigletsToOtherSows) {
  const std::vector<std::pair<std::string, double>> often = {{"sow.sow_loss.death_in_room", 0.6}};
  int lost = 0, moved = 0, told = 0;
  for (std::uint32_t replicate = 0; replicate < 4; ++replicate) {
    const SimulatedFarm room(chamber, replicate, often);
    told += static_cast<int>(of_kind(room, EventKind::sow_died).size());
    const auto left_as = room.column(room.tables().sows, "left_as"), weaned = room.column(room.tables().sows, "weaned");
    ASSERT_EQ(left_as.size(), 12) << "every sow has her row, dead or not";
    for (std::size_t i = 0; i < left_as.size(); ++i) {
      lost += left_as[i] > 0;
      EXPECT_TRUE(left_as[i] == 0 || weaned[i] == 0);
    }
    for (const auto& death : of_kind(room, EventKind::sow_died)) {
      for (const auto& event : room.events(death.sow)) {
        EXPECT_TRUE(event.time_h <= death.time_h || event.what != EventKind::meal_eaten);
      }
    }
    moved += static_cast<int>(of_kind(room, EventKind::piglet_moved).size());
    const auto fate = room.column(room.tables().piglets, "fate"), moves = room.column(room.tables().piglets, "moves");
    const double reared = std::accumulate(weaned.begin(), weaned.end(), 0.0);
    EXPECT_EQ(std::ranges::count(fate, static_cast<double>(PigletFate::weaned)), reared);
  }
  EXPECT_GT(lost, 12);
  EXPECT_EQ(told, lost) << "each is told as an event";
  EXPECT_GT(moved, 30);
}

// One sow after another dies: their piglets are spread over the sows left, each up to her teats while any has one free,
// and then a few more; those for which there is no room are lost.
TEST(Loss, NeverPutsMoreOrphansOnASowThanAnUdderCanTake) {
  const std::vector<std::pair<std::string, double>> often = {{"sow.sow_loss.death_in_room", 0.9}};
  const int above =
      static_cast<int>(Coefficients::built_in().number("litter.fostering_practice.orphans_above_teats", "piglets"));
  int moved = 0, lost = 0, most = 0;
  for (std::uint32_t replicate = 0; replicate < 6; ++replicate) {
    const SimulatedFarm room(
        "room: {crates: 24}\nclimate: {kind: imposed, temperature: 20}\nfostering: {kind: none}\n"
        "herd: {every_sow: {functional_teats: 14, total_born: 14}}\n",
        replicate, often);
    for (const double piglets : room.column(room.tables().sow_days, "piglets"))
      most = std::max(most, static_cast<int>(piglets));
    for (const double number : room.column(room.tables().sows, "orphans_moved")) moved += static_cast<int>(number);
    for (const double number : room.column(room.tables().sows, "orphans_lost")) lost += static_cast<int>(number);
  }
  EXPECT_GT(moved, 100);
  EXPECT_GT(lost, 0);
  EXPECT_LE(most, 14 + above);
}

TEST(Induction, BringsFarrowingForwardAndNeverBackwards) {
  const SimulatedFarm natural(chamber);
  const SimulatedFarm induced(std::string(chamber) + "induction: {kind: single, gestation_day: 114}\n");
  const auto start = [](const SimulatedFarm& room) { return room.column(room.tables().sows, "farrowing_start_h"); };
  const auto before = start(natural), after = start(induced);
  int earlier = 0;
  for (std::size_t i = 0; i < before.size(); ++i) {
    EXPECT_LE(after[i], before[i]);
    earlier += after[i] < before[i];
  }
  EXPECT_GT(earlier, 2);
}

}  // namespace
}  // namespace farrowtide
