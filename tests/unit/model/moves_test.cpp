// Piglets moved from sow to sow: who moves, who takes them, and what comes with them.
#include <gtest/gtest.h>

#include <algorithm>
#include <limits>
#include <map>
#include <set>

#include "tests/unit/model/simulated_farm.hpp"

namespace farrowtide {
namespace {

std::vector<SimulatedFarm::Event> of_kind(const SimulatedFarm& room, EventKind kind) {
  auto events = room.events();
  std::erase_if(events, [&](const auto& event) { return event.what != kind; });
  return events;
}

TEST(Move, BringsPigletsToTheSowNamedAndKeepsTheirDam) {
  const std::string at_day_6 = "moves: [{day: 8, time: \"10:00\", from: 1, to: 2, piglets: 3, which: heaviest}]\n";
  const SimulatedFarm room("room: {crates: 4}\nclimate: {kind: imposed}\n" + at_day_6 +
                           "herd: {mortality: off, health: off, every_sow: {total_born: 12, farrows_on_day: 3}}\n");
  const auto& sows = room.tables().sows;
  EXPECT_EQ(room.column(sows, "weaned"), (std::vector<double>{9, 15, 12, 12}));
  const auto dam = room.column(room.tables().piglets, "sow"),
             reared_by = room.column(room.tables().piglets, "reared_by");
  int moved = 0;
  for (std::size_t i = 0; i < dam.size(); ++i) {
    if (dam[i] == reared_by[i]) continue;
    ++moved;
    EXPECT_EQ(dam[i], 1);
    EXPECT_EQ(reared_by[i], 2);
  }
  EXPECT_EQ(moved, 3);
  EXPECT_EQ(of_kind(room, EventKind::litter_disturbed).size(), 1 + 4) << "four processings and one move";
}

TEST(Move, IsNotMadeToASowThatHasNotFarrowed) {
  const SimulatedFarm room(
      "room: {crates: 2}\nclimate: {kind: imposed}\nmoves: [{day: 4, from: 1, to: 2, piglets: 3}]\n"
      "herd: {mortality: off, health: off, sows: [{total_born: 12, farrows_on_day: 2}, "
      "{total_born: 11, farrows_on_day: 7}]}\n");
  EXPECT_EQ(room.column(room.tables().sows, "weaned"), (std::vector<double>{12, 11}));
}

TEST(Move, AtAWeekCostsThePigletGrowthAndTheReceivingLitterALittle) {
  const std::string room = "room: {crates: 12}\nclimate: {kind: imposed}\n";
  const std::string herd =
      "herd: {mortality: off, health: off, every_sow: {parity: 3, total_born: 12, farrows_on_day: 3}}\n";
  std::string moves = "moves:\n";
  for (int sow = 1; sow <= 12; ++sow)
    moves += "  - {day: 10, from: " + std::to_string(sow) + ", to: " + std::to_string(sow % 12 + 1) + ", piglets: 2}\n";
  const SimulatedFarm stayed(room + herd), moved(room + herd + moves);
  const auto weight = [](const SimulatedFarm& of) { return of.column(of.tables().piglets, "weaning_weight_kg"); };
  const auto moves_of = moved.column(moved.tables().piglets, "moves");
  const auto before = weight(stayed), after = weight(moved);
  double movers = 0, residents = 0;
  int number = 0;
  for (std::size_t i = 0; i < before.size(); ++i) {
    const double change = after[i] / before[i] - 1;
    (moves_of[i] > 0 ? movers : residents) += change;
    number += moves_of[i] > 0;
  }
  movers /= number;
  residents /= static_cast<double>(before.size()) - number;
  EXPECT_GT(number, 15);
  EXPECT_LT(movers, -0.01) << "a fifth less for a week (Horrell & Bennett 1981)";
  EXPECT_LT(movers, residents);
}

TEST(Move, TakesTheLightestTheHeaviestOrThoseBetween) {
  const auto weights_kg = [](const std::string& which) {
    const SimulatedFarm room(
        "room: {crates: 2}\nclimate: {kind: imposed}\nmoves: [{day: 8, from: 1, to: 2, piglets: 4, which: " + which +
        "}]\nherd: {mortality: off, health: off, every_sow: {total_born: 12, farrows_on_day: 3}}\n");
    std::vector<double> moved;
    for (const auto& event : of_kind(room, EventKind::piglet_moved)) moved.push_back(event.detail);
    std::ranges::sort(moved);
    return moved;
  };
  const auto lightest = weights_kg("lightest"), middle = weights_kg("middle"), heaviest = weights_kg("heaviest");
  for (const auto* moved : {&lightest, &middle, &heaviest}) ASSERT_EQ(moved->size(), 4) << "of the same twelve";
  EXPECT_LT(lightest.back(), middle.front());
  EXPECT_LT(middle.back(), heaviest.front());
}

// On one day all piglets of sow 1 leave, on the next those of sow 2 are brought to her.
TEST(Move, OfAWholeLitterToASowWithoutOneMayBeRefusedOrCostMilk) {
  const std::string two_steps =
      "room: {crates: 3}\nclimate: {kind: imposed}\n"
      "moves: [{day: 8, from: 1, to: 3, piglets: 20}, {day: 9, from: 2, to: 1, piglets: 20}]\n"
      "herd: {mortality: off, health: off, every_sow: {total_born: 8, farrows_on_day: 3}}\n";
  const auto with = [&](double refuses, double milk_drops) {
    return SimulatedFarm(two_steps, 0,
                         Values{{"litter.moving.refusal.refuses", refuses},
                                {"litter.moving.refusal.milk_drops", milk_drops},
                                {"litter.moving.refusal.milk_drop_multiplier", 0.5}});
  };
  const auto weaned = [](const SimulatedFarm& room) { return room.column(room.tables().sows, "weaned"); };
  EXPECT_EQ(weaned(with(1, 0)), (std::vector<double>{0, 8, 16})) << "a sow with piglets of her own refuses none";
  const SimulatedFarm taken = with(0, 0), costs_milk = with(0, 1);
  EXPECT_EQ(weaned(taken), (std::vector<double>{8, 0, 16}));
  const auto of_adopted_kg = [](const SimulatedFarm& room) {
    return room.column(room.tables().sows, "litter_weight_at_weaning_kg").front();
  };
  EXPECT_LT(of_adopted_kg(costs_milk), 0.99 * of_adopted_kg(taken));
}

// A probability of one where piglets come from a litter that scours, and of nearly none.
TEST(Move, CarriesScoursFromAScouringLitterToOneThatHasNotScoured) {
  std::string room =
      "room: {crates: 12}\nclimate: {kind: imposed}\nherd: {scours: problem, mortality: off, "
      "every_sow: {parity: 1, total_born: 12, farrows_on_day: 3}}\nmoves:\n";
  for (int sow = 1; sow <= 12; ++sow)
    room += "  - {day: 6, from: " + std::to_string(sow) + ", to: " + std::to_string(sow % 12 + 1) + ", piglets: 2}\n";
  int carried = 0;
  for (std::uint32_t replicate = 0; replicate < 3; ++replicate) {
    const SimulatedFarm always(room, replicate, Values{{"litter.moving.disease.reference_prevalence", 1e-9}});
    const SimulatedFarm never(room, replicate, Values{{"litter.moving.disease.reference_prevalence", 1e9}});
    const auto when_moved = [](const SimulatedFarm& of) {
      std::set<std::pair<int, double>> arrivals, outbreaks;
      for (const auto& event : of_kind(of, EventKind::piglet_moved)) arrivals.emplace(event.sow, event.time_h);
      std::map<int, int> times;
      for (const auto& event : of_kind(of, EventKind::scours_began)) {
        EXPECT_EQ(++times[event.sow], 1) << "a litter scours once";
        if (arrivals.contains({event.sow, event.time_h})) outbreaks.emplace(event.sow, event.time_h);
      }
      return outbreaks.size();
    };
    EXPECT_EQ(when_moved(never), 0);
    carried += static_cast<int>(when_moved(always));
  }
  EXPECT_GT(carried, 2);
}

// Five strangers take from residents what the coefficient says; the strangers themselves are not residents.
TEST(Move, OfManyStrangersCostsTheResidentsGrowth) {
  const std::string room =
      "room: {crates: 8}\nclimate: {kind: imposed}\nmoves:\n"
      "  - {day: 10, from: 1, to: 2, piglets: 5}\n  - {day: 10, from: 3, to: 4, piglets: 5}\n"
      "  - {day: 10, from: 5, to: 6, piglets: 5}\n  - {day: 10, from: 7, to: 8, piglets: 5}\n"
      "herd: {mortality: off, health: off, every_sow: {parity: 3, total_born: 10, functional_teats: 16, "
      "farrows_on_day: 3}}\n";
  const SimulatedFarm usual(room, 0, Values{{"litter.moving.residents.multiplier", 1}});
  const SimulatedFarm hindered(room, 0, Values{{"litter.moving.residents.multiplier", 0.5}});
  const auto weight = [](const SimulatedFarm& of) { return of.column(of.tables().piglets, "weaning_weight_kg"); };
  const auto dam = usual.column(usual.tables().piglets, "sow"),
             reared_by = usual.column(usual.tables().piglets, "reared_by");
  const auto before = weight(usual), after = weight(hindered);
  double residents = 0, others = 0;
  for (std::size_t i = 0; i < before.size(); ++i) {
    const bool hosts = static_cast<int>(reared_by[i]) % 2 == 0;
    if (hosts && dam[i] == reared_by[i]) residents += after[i] / before[i] - 1;
    if (hosts && dam[i] != reared_by[i]) others += after[i] / before[i] - 1;
    EXPECT_TRUE(hosts || after[i] == before[i]) << "nothing happened in her litter that differs";
  }
  EXPECT_LT(residents / 40, -0.005);
  EXPECT_GT(others / 20, 0) << "what the residents leave is theirs";
}

}  // namespace
}  // namespace farrowtide
