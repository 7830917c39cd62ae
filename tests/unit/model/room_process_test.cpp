// What happens in a room as a whole: feed and its remains, moves planned, a nurse sow, a sow lost, and what is written
// of work and weather.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <memory>

#include "libsim/model/fostering.hpp"
#include "libsim/model/planned_work.hpp"
#include "libsim/model/room_weather.hpp"
#include "libsim/model/troughs.hpp"
#include "libsim/model/work.hpp"
#include "tests/unit/model/simulated_farm.hpp"

namespace farrowtide {
namespace {

constexpr Time noon = Time{} + 8_d + 12_h;

std::string room_of(int crates, const std::string& more = "", const std::string& herd = "health: off, mortality: off") {
  return "room: {crates: " + std::to_string(crates) +
         ", drinker_blockages: off}\nclimate: {kind: imposed, temperature: 20}\nherd: {" + herd +
         ", every_sow: {parity: 3, total_born: 12, farrows_on_day: 3}}\n" + more;
}

struct Room : PausedFarm {
  explicit Room(const std::string& yaml, const Values& values = {}, Time at = noon) : PausedFarm(yaml, at, values) {}
  int count(EventKind kind) const { return static_cast<int>(std::ranges::count(events(), kind, &Event::what)); }
  Event last(EventKind kind) const {
    const auto all = events();
    return *std::ranges::find(all.rbegin(), all.rend(), kind, &Event::what);
  }
  // A trough with nothing but this, which the sow leaves alone for want of water.
  void fill_trough(std::int64_t grams) {
    Trough& trough = sow().feeding.trough;
    trough.take({.drawn_g = trough.in_trough_g(), .eaten_g = trough.in_trough_g()});
    trough.deliver(room().now(), grams, FeedForm::dry, 20);
    sow().water.drinker.open_share = 0;
    sow().water.drinker.clogged_at = room().now() - 13_h;
  }
};

TEST(StaleFeed, IsTakenOutAtTheFirstVisitOfTheDayThatFindsIt) {
  for (const Duration age : {11_h, 13_h}) {
    Room farm(room_of(1,
                      "feeding: {kind: drops, times: [\"06:00\"]}\nstaff: {shifts: [{from: \"00:00\", until: "
                      "\"00:10\", break: 0 min}]}\n"),
              {}, Time{} + 8_d + 6_h + 30_min);
    farm.fill_trough(2000);
    farm.run_until(farm.room().now() + age);
    farm.sow().feeding.cleaning_asked_day = 7;
    look_after_drops(farm.room(), farm.sow());
    EXPECT_EQ(farm.sow().feeding.cleaning_asked_day, age > 12_h ? 8 : 7) << "feed keeps for 12 h at 20 degC";
  }
}

TEST(StaleFeed, IsTakenOutAfterATroughCheckThatFindsIt) {
  for (const Duration age : {11_h, 13_h}) {
    Room farm(room_of(1,
                      "feeding: {kind: hand, times: [\"06:00\"], allowance: {rule: by_trough}}\n"
                      "staff: {shifts: [{from: \"00:00\", until: \"00:10\", break: 0 min}]}\n"),
              {}, Time{} + 8_d + 6_h + 30_min);
    farm.fill_trough(2000);
    farm.run_until(farm.room().now() + age);
    farm.sow().feeding.cleaning_asked_day = 7;
    check_trough(farm.room(), farm.sow());
    EXPECT_EQ(farm.sow().feeding.cleaning_asked_day, age > 12_h ? 8 : 7);
  }
}

TEST(StaleFeed, IsLeftWhereItWasTakenOutTodayOrNever) {
  const std::string nobody = "staff: {shifts: [{from: \"00:00\", until: \"00:10\", break: 0 min}]}\n";
  Room farm(room_of(1, "feeding: {kind: hand, times: [\"06:00\"]}\n" + nobody), {}, Time{} + 8_d + 6_h + 30_min);
  farm.fill_trough(2000);
  farm.run_until(farm.room().now() + 13_h);
  farm.sow().feeding.cleaning_asked_day = 8;
  const int poured = farm.count(EventKind::feed_delivered);
  feed(farm.room(), farm.sow(), 6_h);
  EXPECT_EQ(farm.count(EventKind::feed_delivered), poured + 1) << "poured on top";
  farm.sow().feeding.cleaning_asked_day = 7;
  feed(farm.room(), farm.sow(), 6_h);
  EXPECT_EQ(farm.count(EventKind::feed_delivered), poured + 1) << "only after the cleaning that is asked for";
  EXPECT_EQ(farm.sow().feeding.cleaning_asked_day, 8);
  clean(farm.room(), farm.sow(), 6_h);
  EXPECT_EQ(farm.count(EventKind::trough_cleaned), 1);
  EXPECT_EQ(farm.last(EventKind::trough_cleaned).amount, 2);
  EXPECT_EQ(farm.count(EventKind::feed_delivered), poured + 2) << "and it is poured then";
  clean(farm.room(), farm.sow(), {});
  EXPECT_EQ(farm.last(EventKind::trough_cleaned).amount, 0) << "fresh feed stays";
  EXPECT_EQ(farm.count(EventKind::feed_delivered), poured + 2) << "a cleaning alone";
  Room never(room_of(1, "feeding: {kind: hand, times: [\"06:00\"], remove_stale: never}\n" + nobody), {},
             Time{} + 8_d + 6_h + 30_min);
  never.fill_trough(2000);
  never.run_until(never.room().now() + 13_h);
  never.sow().feeding.cleaning_asked_day = 7;
  feed(never.room(), never.sow(), 6_h);
  EXPECT_EQ(never.sow().feeding.cleaning_asked_day, 7);
}

TEST(Pouring, TellsWhatWentInAndWhatDidNotFit) {
  Room farm(
      "room: {crates: 1, trough_capacity: 3 kg, drinker_blockages: off}\nclimate: {kind: imposed, temperature: 20}\n"
      "feeding: {kind: hand, times: [\"06:00\"], allowance: {rule: flat, amount: 5 kg/d}}\n"
      "herd: {health: off, mortality: off, every_sow: {parity: 3, farrows_on_day: 3}}\n");
  farm.fill_trough(1000);
  feed(farm.room(), farm.sow(), 6_h);
  EXPECT_EQ(farm.last(EventKind::feed_delivered).amount, 2);
  EXPECT_EQ(farm.last(EventKind::feed_delivered).detail, 3);
  const int poured = farm.count(EventKind::feed_delivered);
  feed(farm.room(), farm.sow(), 7_h);
  EXPECT_EQ(farm.count(EventKind::feed_delivered), poured) << "no round of hers";
}

TEST(Feeding, IsTheFirstLookAtHerIntakeOfTheDay) {
  Room farm(room_of(1));
  farm.sow().intake_seen.day = 7;
  farm.sow().feeding.trough_reading.day = 7;
  feed(farm.room(), farm.sow(), 7_h);
  EXPECT_EQ(farm.sow().intake_seen.day, 8);
  EXPECT_EQ(farm.sow().feeding.trough_reading.day, 8);
}

TEST(Drops, PassBySowsInLabourAndThoseThatHaveLeft) {
  Room farm(room_of(2, "feeding: {kind: drops, times: [\"06:00\"]}\n"));
  const auto dropped = [&](int sow) {
    return std::ranges::count_if(farm.events(sow),
                                 [](const auto& event) { return event.what == EventKind::feed_delivered; });
  };
  const auto first = dropped(1), second = dropped(2);
  farm.sow(2).left.reach();
  drop_feed(farm.room(), 6_h);
  EXPECT_EQ(dropped(1), first + 1);
  EXPECT_EQ(dropped(2), second);
  Room labour(room_of(1, "feeding: {kind: drops, times: [\"06:00\"]}\n"), {}, Time{});
  labour.run_until(labour.sow().traits.onset);
  const int before = labour.count(EventKind::feed_delivered);
  drop_feed(labour.room(), 6_h);
  EXPECT_EQ(labour.count(EventKind::feed_delivered), before);
}

class Planned final : public FosteringPolicy {
 public:
  std::span<const Duration> times() const override { return {}; }
  FosteringPlan plan(const FosteringView&) const override { return next; }
  int nurse_sows() const override { return 1; }
  std::string describe() const override { return "as a test says"; }
  FosteringPlan next;
};

TEST(Fostering, TellsOfAPlanWithMovesAndOfPigletsLeftOverWhenThatChanges) {
  Room farm(room_of(2));
  const auto policy = std::make_shared<Planned>();
  farm.changeable_settings().fostering = policy;
  policy->next.surplus_piglets = 5;
  policy->next.free_teats = 3;
  policy->next.left_over[static_cast<std::size_t>(LeftOver::too_young)] = 1;
  policy->next.left_over[static_cast<std::size_t>(LeftOver::too_old)] = 2;
  foster(farm.room());
  EXPECT_EQ(farm.count(EventKind::moves_planned), 0) << "no moves";
  ASSERT_EQ(farm.count(EventKind::piglets_left_over), 2);
  const auto left = farm.last(EventKind::piglets_left_over);
  EXPECT_EQ(left.amount, 2);
  EXPECT_EQ(left.detail, static_cast<double>(LeftOver::too_old));
  EXPECT_EQ(left.sow, -1);
  EXPECT_EQ(left.piglet, -1);
  policy->next.moves = {{.piglet = 0, .to = 1}};
  foster(farm.room());
  EXPECT_EQ(farm.count(EventKind::piglets_left_over), 2) << "as before";
  ASSERT_EQ(farm.count(EventKind::moves_planned), 1);
  const auto planned = farm.last(EventKind::moves_planned);
  EXPECT_EQ(planned.amount, 5);
  EXPECT_EQ(planned.detail, 3);
  EXPECT_EQ(planned.sow, -1);
  EXPECT_EQ(planned.piglet, -1);
  foster(farm.room());
  EXPECT_EQ(farm.count(EventKind::moves_planned), 1) << "those are under way";
  farm.run_until(noon + 1_d);
  EXPECT_EQ(farm.sow(1).litter.piglets.front().reared_by, &farm.sow(2));
}

TEST(Fostering, TakesInANurseSowForEnoughPigletsAboveAllTeats) {
  const int least =
      static_cast<int>(Coefficients::built_in().number("staff.practice.nurse_sow_least_piglets", "piglets"));
  for (const int above : {least - 1, least}) {
    Room farm(room_of(2));
    const auto policy = std::make_shared<Planned>();
    farm.changeable_settings().fostering = policy;
    policy->next.surplus_piglets = 2 + above;
    policy->next.free_teats = 2;
    foster(farm.room());
    foster(farm.room());
    EXPECT_EQ(farm.room().nurse_sows(), above == least ? 1 : 0) << "one at most, as the policy says";
  }
}

TEST(NurseSow, EntersInMilkWithoutColostrumOrPiglets) {
  Room farm(room_of(2, "", "health: off, mortality: off, nurse_sow_day: 6"));
  farm.room().take_in_nurse_sow();
  ASSERT_EQ(farm.room().nurse_sows(), 1);
  const Sow& nurse = farm.sow(3);
  EXPECT_EQ(nurse.number, 3);
  EXPECT_TRUE(nurse.traits.nurse);
  EXPECT_TRUE(nurse.farrowed.reached());
  EXPECT_EQ(nurse.labour.last_birth, noon - 6_d);
  EXPECT_EQ(nurse.lactation_day(8), 6);
  EXPECT_TRUE(nurse.litter.colostrum_is_over);
  EXPECT_EQ(nurse.litter.teats.functional, nurse.traits.functional_teats);
  EXPECT_EQ(farm.biology().usable_teats(nurse.litter.teats, 6), nurse.traits.functional_teats)
      << "her own litter used them";
  EXPECT_EQ(nurse.feeding.pool_at, noon);
  EXPECT_EQ(nurse.water.noted_at, noon);
  EXPECT_EQ(nurse.litter.rear_frailty,
            farm.biology().frailty.rear(farm.room().draws.normal(Purpose::rearing_frailty, 3)));
  EXPECT_EQ(nurse.litter.nursing(), 0);
  farm.run_until(noon + 2_d);
  EXPECT_EQ(farm.sow(3).days.size(), 2u);
  EXPECT_GT(farm.sow(3).days.back().eaten_kg, 0);
}

const Values dies_when_spent = {{"sow.sow_loss.death_in_room", 0}, {"sow.starvation.death_when_spent", 1e7}};

struct Loss : Room {
  explicit Loss(int crates, int functional_teats, const std::string& more = "")
      : Room("room: {crates: " + std::to_string(crates) +
                 ", drinker_blockages: off}\nclimate: {kind: imposed, temperature: 20}\nfostering: {kind: none}\n"
                 "herd: {mortality: off, every_sow: {parity: 3, total_born: 12, farrows_on_day: 3, functional_teats: " +
                 std::to_string(functional_teats) + "}}\n" + more,
             dies_when_spent) {}
  // The first sow has nothing more to lose, and dies at once.
  void starve() {
    sow().body.weight_kg = 0.3 * sow().body.weight_at_loading_kg;
    sow().risk_changed.fire();
    run_until(noon + 1_min);
    EXPECT_TRUE(sow().left.reached());
  }
};

TEST(SowLost, IsToldWithHerCauseAndThePigletsSheLeaves) {
  Loss farm(2, 16);
  farm.starve();
  EXPECT_EQ(farm.sow().departure->fate, SowFate::died_of_hunger);
  const auto told = farm.last(EventKind::sow_died);
  EXPECT_EQ(told.sow, 1);
  EXPECT_EQ(told.amount, 12);
  EXPECT_EQ(told.detail, static_cast<double>(SowFate::died_of_hunger));
  EXPECT_EQ(told.piglet, -1);
}

TEST(SowLost, LeavesHerPigletsToSowsWithTeatsAndAFewMore) {
  const int above =
      static_cast<int>(Coefficients::built_in().number("litter.fostering_practice.orphans_above_teats", "piglets"));
  Loss farm(3, 16);
  farm.starve();
  farm.run_until(noon + 2_d);
  EXPECT_EQ(farm.sow(1).litter.orphans_moved, std::min(12, 2 * (4 + above)));
  EXPECT_EQ(farm.sow(1).litter.orphans_lost, 12 - farm.sow(1).litter.orphans_moved);
  EXPECT_EQ(farm.sow(2).litter.moved_in + farm.sow(3).litter.moved_in, farm.sow(1).litter.orphans_moved);
  EXPECT_LE(std::abs(farm.sow(2).litter.moved_in - farm.sow(3).litter.moved_in), 1) << "to the one with most room";
  EXPECT_EQ(farm.sow(2).litter.orphans_coming, 0);
  EXPECT_EQ(farm.sow(1).litter.nursing(), 0);
  Loss full(2, 12);
  full.sow(2).litter.orphans_coming = 12;
  full.starve();
  full.run_until(noon + 1_h);
  EXPECT_EQ(full.sow(1).litter.orphans_moved, 0);
  EXPECT_EQ(full.sow(1).litter.orphans_lost, 12);
  EXPECT_EQ(full.last(EventKind::piglet_died).detail, 2) << "starved";
}

// She is spent once she has lost half of her weight: at the midnight that takes her there.
TEST(SowLost, DiesAsSoonAsADayHasTakenTheLastOfHerReserves) {
  Loss farm(2, 16);
  farm.run_until(Time{} + 9_d - 1_s);
  Sow& sow = farm.sow();
  sow.body.weight_kg = 0.5 * sow.body.weight_at_loading_kg + 0.05;
  sow.feeding.at_midnight.eaten_g = sow.feeding.trough.eaten_g();  // she has eaten nothing today
  ASSERT_FALSE(farm.biology().starvation.spent(sow.body.loss_share()));
  farm.run_until(Time{} + 9_d + 1_min);
  EXPECT_TRUE(farm.biology().starvation.spent(sow.body.loss_share()));
  EXPECT_TRUE(sow.left.reached());
}

TEST(SowLost, FillsTheLastPlaceOfAnUdder) {
  const int above =
      static_cast<int>(Coefficients::built_in().number("litter.fostering_practice.orphans_above_teats", "piglets"));
  Loss farm(2, 16);
  farm.sow(2).litter.orphans_coming = 16 - 12 + above - 1;
  farm.starve();
  farm.run_until(noon + 2_d);
  EXPECT_EQ(farm.sow(1).litter.orphans_moved, 1);
  EXPECT_EQ(farm.sow(1).litter.orphans_lost, 11);
}

// Of two sows with 12 piglets each, the second one has room for her free teats and a few orphans more.
TEST(SowLost, CallsANurseSowOnlyForEnoughOrphansWithoutRoom) {
  const int least =
      static_cast<int>(Coefficients::built_in().number("staff.practice.nurse_sow_least_piglets", "piglets"));
  const int above =
      static_cast<int>(Coefficients::built_in().number("litter.fostering_practice.orphans_above_teats", "piglets"));
  for (const int without_room : {least - 1, least}) {
    Loss farm(2, 12 + (12 - without_room) - above);
    farm.changeable_settings().fostering = std::make_shared<Planned>();
    farm.starve();
    EXPECT_EQ(farm.room().nurse_sows(), without_room == least ? 1 : 0);
  }
}

TEST(PlannedWork, IsWhatPoliciesAskForAtTheirTimes) {
  const auto kinds = [](const std::string& yaml) {
    std::vector<std::pair<TaskKind, double>> found;
    for (const PlannedTask& task : planned_work(Room(room_of(2, yaml)).settings()))
      found.emplace_back(task.kind, task.time.hours());
    return found;
  };
  using enum TaskKind;
  EXPECT_EQ(kinds("feeding: {kind: hand, times: [\"07:00\", \"15:00\"], pre_farrow: {times: [\"07:00\"]}}\nfostering: "
                  "{kind: none}\n"
                  "care: {stand_up: [\"10:00\"]}\nmoves: [{day: 9, time: \"11:00\", from: 1, to: 2, piglets: 1}]\n"),
            (std::vector<std::pair<TaskKind, double>>{
                {feed_by_hand, 7}, {feed_by_hand, 15}, {stand_up, 10}, {foster_move, 11}}));
  EXPECT_EQ(kinds("feeding: {kind: drops, times: [\"07:00\"], look: \"09:00\"}\nfostering: {kind: none}\n"),
            (std::vector<std::pair<TaskKind, double>>{{feed_by_drop, 9}}));
  EXPECT_EQ(kinds("feeding: {kind: drops}\nfostering: {kind: fill_teats, times: [\"09:30\"]}\n").back(),
            std::pair(foster_move, 9.5));
}

TEST(LargestPortion, IsTheFirstOfEqualOnes) {
  const LargestPortion largest = largest_portion(
      Room(
          room_of(1, "feeding: {kind: hand, times: [\"07:00\", \"15:00\"], allowance: {rule: flat, amount: 8 kg/d}}\n"))
          .settings());
  EXPECT_EQ(largest.kg, 4);
  EXPECT_EQ(largest.time, 7_h);
  EXPECT_EQ(largest.lactation_day, 1) << "the first day of the allowance";
}

TEST(TaskRow, NamesTheSowOfATaskForOneAndCountsAnimals) {
  Room farm(room_of(3, "staff: {shifts: [{people: 2}]}\n"));
  const Time asked = Time{} + 9_d + 9_h;
  farm.run_until(asked);
  ask_staff(farm.room(), work_order(farm.room(), TaskKind::treat_sow, farm.sow(2)));
  farm.run_until(asked + 1_h);
  const Table& tasks = farm.tables().tasks;
  const auto kind = farm.column(tasks, "kind"), sow = farm.column(tasks, "sow"),
             animals = farm.column(tasks, "animals"), asked_h = farm.column(tasks, "asked_h"),
             started_h = farm.column(tasks, "started_h"), done_h = farm.column(tasks, "done_h");
  int treated = 0, looked = 0;
  for (std::size_t i = 0; i < kind.size(); ++i) {
    if (static_cast<TaskKind>(static_cast<int>(kind[i])) == TaskKind::treat_sow) {
      ++treated;
      EXPECT_EQ(sow[i], 2);
      EXPECT_EQ(animals[i], 1);
      EXPECT_EQ(asked_h[i], asked.since_start().hours());
      EXPECT_GE(started_h[i], asked_h[i]);
      EXPECT_GT(done_h[i], started_h[i]);
    }
    if (static_cast<TaskKind>(static_cast<int>(kind[i])) != TaskKind::daily_look) continue;
    ++looked;
    EXPECT_EQ(animals[i], 3);
    EXPECT_LT(sow[i], 1) << "of several";
  }
  EXPECT_EQ(treated, 1);
  EXPECT_GT(looked, 3);
}

TEST(Events, NameASowOrAPigletOnlyWhereTheyAreAboutOne) {
  const SimulatedFarm farm(
      "room: {crates: 12}\nfostering: {kind: fill_and_equalise, nurse_sows: 1, max_moved: 0.5}\n"
      "care: {stand_up: [\"10:00\"], legs_at_loading: true, signs_to_treat: 1}\n"
      "feeding: {kind: hand, allowance: {rule: by_trough}}\nherd: {parity_shares: [0.5, 0.5], every_sow: {total_born: "
      "17}}\n",
      0,
      {{"sow.post_partum_disorder.risk.intercept", 0},
       {"room.drinkers.full_block_hazard", 0.05},
       {"litter.scours.onset_early", 0.05},
       {"sow.sow_loss.death_in_room", 0.3}});
  using enum EventKind;
  const auto is_one_of = [](EventKind kind, std::initializer_list<EventKind> kinds) {
    return std::ranges::find(kinds, kind) != kinds.end();
  };
  std::map<EventKind, int> seen;
  for (const auto& event : farm.events()) {
    ++seen[event.what];
    const bool of_piglet =
        is_one_of(event.what, {piglet_born, piglet_stillborn, piglet_revived, piglet_died, piglet_moved});
    const bool of_room = is_one_of(event.what, {shift_began, shift_ended, moves_planned, piglets_left_over});
    EXPECT_EQ(event.piglet > 0, of_piglet) << name_of(event.what);
    EXPECT_EQ(event.sow > 0, !of_room) << name_of(event.what);
    if (!of_piglet) {
      EXPECT_EQ(event.piglet, -1) << name_of(event.what);
    }
    if (of_room) {
      EXPECT_EQ(event.sow, -1) << name_of(event.what);
    }
  }
  for (const EventKind kind :
       {fell_ill, recovered, sign_found, sow_treated, sow_died, placenta_out, temperature_taken, drinker_clogged,
        drinker_mended, gilt_trained, stood_up, scours_began, litter_weaned, labour_began, farrowing_finished,
        trough_checked, litter_disturbed, inertia_began, exam_made})
    EXPECT_GT(seen[kind], 0) << name_of(kind);
}

TEST(RosterRow, HoldsWhoIsAtWorkAndOnABreak) {
  const SimulatedFarm farm(
      "room: {crates: 1}\nclimate: {kind: imposed}\nstart: 2026-01-12\n"
      "staff: {shifts: [{from: \"07:00\", until: \"16:00\", people: 2, break: 60 min, break_from: \"12:00\"}]}\n");
  const Table& roster = farm.tables().roster;
  const auto state = farm.column(roster, "state"), from_h = farm.column(roster, "from_h"),
             until_h = farm.column(roster, "until_h"), people = farm.column(roster, "people");
  double worked_h = 0, break_h = 0;
  for (std::size_t i = 0; i < state.size(); ++i) {
    if (from_h[i] >= 24) continue;  // of the Monday alone
    (static_cast<RosterState>(static_cast<int>(state[i])) == RosterState::at_work ? worked_h : break_h) +=
        people[i] * (until_h[i] - from_h[i]);
  }
  EXPECT_EQ(worked_h, 16);
  EXPECT_EQ(break_h, 2);
}

// Sows of first parity feel heat otherwise than older ones, so that their appetite comes at other hours.
TEST(AppetiteClocks, AreThoseOfTheHoursForFirstAndLaterParities) {
  Room farm(
      "room: {crates: 1}\nclimate: {kind: imposed, temperature_hours: [20, 20, 20, 20, 20, 20, 20, 20, 22, 24, 26, 28, "
      "30, 32, 34, 34, 34, 32, 30, 28, 26, 24, 22, 20]}\n");
  FarrowingRoom& room = farm.room();
  const auto expected = [&](int parity) {
    return room.appetite_clock(room.weather.today().temperature_deg_c, room.effective_temperature_deg_c, parity,
                               farm.biology().appetite.temperature());
  };
  for (int hour = 0; hour < 24; ++hour) {
    EXPECT_EQ(room.clock_of_first_parity.hour_share(hour), expected(1).hour_share(hour));
    EXPECT_EQ(room.clock_of_later_parities.hour_share(hour), expected(3).hour_share(hour));
  }
  EXPECT_NE(expected(1).hour_share(15), expected(3).hour_share(15));
}

TEST(AppetiteClocks, OfASowAreThoseOfHerParity) {
  Room farm(
      "room: {crates: 2}\nclimate: {kind: imposed, temperature: 32}\n"
      "herd: {health: off, mortality: off, sows: [{parity: 1}, {parity: 2}]}\n");
  const double of_first = farm.room().clock_of_first_parity.hour_share(12),
               of_later = farm.room().clock_of_later_parities.hour_share(12);
  ASSERT_NE(of_first, of_later);
  EXPECT_EQ(farm.sow(1).feeding.clock_of_day.hour_share(12), of_first);
  EXPECT_EQ(farm.sow(2).feeding.clock_of_day.hour_share(12), of_later);
}

TEST(CoolingPad, CoolsTheRoomOnHotDays) {
  const auto warmest_deg_c = [](const std::string& inlet) {
    const SimulatedFarm farm("room: {crates: 12, inlet: " + inlet +
                             "}\nclimate: {outdoor: aragon}\nstart: 2026-07-01\n");
    const auto deg_c = farm.column(farm.tables().room_hours, "temperature_deg_c");
    return *std::ranges::max_element(deg_c);
  };
  EXPECT_LT(warmest_deg_c("evaporative_pad"), warmest_deg_c("plain") - 2);
}

// Weather by address: the same under every policy and however many rooms ask.
TEST(Outdoors, AreDrawnHourByHour) {
  Room farm("room: {crates: 1}\nstart: 2026-03-01\n", {}, Time{} + 1_d);
  const FarmSettings& settings = farm.settings();
  const Draws draws{5, 0};
  Outdoors outdoors(farm.biology().coefficients, settings, draws);
  const OutdoorGenerator generator(
      farm.biology().coefficients,
      OutdoorClimate::preset(farm.biology().coefficients, settings.climate.outdoor_preset));
  double deviation = draws.normal(Purpose::outdoor, room_entity, 0);
  for (int day = 0; day < 2; ++day) {
    std::array<double, 24> z;
    for (std::uint32_t hour = 0; hour < 24; ++hour)
      z[hour] = draws.normal(Purpose::outdoor, room_entity, static_cast<std::uint32_t>(day) * 24 + hour + 1);
    const OutdoorDay expected = generator(settings.day_of_year(day), deviation, z);
    EXPECT_EQ(outdoors.day(day).temperature_deg_c, expected.temperature_deg_c) << "day " << day;
    EXPECT_EQ(outdoors.day(day).temperature_deg_c, expected.temperature_deg_c) << "asked again";
  }
}

}  // namespace
}  // namespace farrowtide
