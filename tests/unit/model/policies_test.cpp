// What a family's policies do to a room: the same animals, another decision.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <map>
#include <numeric>
#include <set>
#include <sstream>

#include "tests/unit/model/simulated_farm.hpp"

namespace farrowtide {
namespace {

const std::string chamber = "room: {crates: 12}\nclimate: {kind: imposed, temperature: 20}\n";

struct Count {
  int tasks = 0, animals = 0;
};

Count asked_for(const SimulatedFarm& room, TaskKind kind) {
  const auto kinds = room.column(room.tables().tasks, "kind"), animals = room.column(room.tables().tasks, "animals");
  Count count;
  for (std::size_t i = 0; i < kinds.size(); ++i) {
    if (static_cast<TaskKind>(static_cast<int>(kinds[i])) != kind) continue;
    ++count.tasks;
    count.animals += static_cast<int>(animals[i]);
  }
  return count;
}

std::vector<SimulatedFarm::Event> of_kind(const SimulatedFarm& room, EventKind kind) {
  auto events = room.events();
  std::erase_if(events, [&](const auto& event) { return event.what != kind; });
  return events;
}

TEST(WaterPolicy, PutsRightWhatGivesLessThanItsLimit) {
  const std::string slow =
      "climate: {kind: imposed}\nroom: {crates: 12, drinker_blockages: off, drinker_flow: 1.6 L/min, "
      "drinker_flow_cv: 0.4}\n";
  const SimulatedFarm left(slow), mended(slow + "water: {action_limit: 2 L/min}\n");
  const auto flow = [](const SimulatedFarm& room) { return room.column(room.tables().sows, "drinker_flow_l_per_min"); };
  const auto before = flow(left), after = flow(mended);
  ASSERT_EQ(before.size(), after.size());
  for (std::size_t i = 0; i < after.size(); ++i)
    EXPECT_NEAR(after[i], std::max(before[i], 2.0), 1e-4) << "crate " << i + 1;
  EXPECT_TRUE(std::ranges::any_of(before, [](double l_per_min) { return l_per_min < 1.5; }));
}

TEST(WaterPolicy, OnSuspicionLooksAtFewDrinkersAndAtThoseOfSowsThatDoNotEat) {
  const std::vector<std::pair<std::string, double>> often = {{"room.drinkers.full_block_hazard", 0.05}};
  const SimulatedFarm daily(chamber, 0, often), suspicion(chamber + "water: {kind: on_suspicion}\n", 0, often);
  const int seen = asked_for(suspicion, TaskKind::drinker_check).animals;
  EXPECT_LT(seen, 0.5 * asked_for(daily, TaskKind::drinker_check).animals);
  EXPECT_GE(seen, 12) << "all of them once";
  std::set<std::pair<int, int>> worried;  // sow and day
  for (const auto& sign : of_kind(suspicion, EventKind::sign_found))
    worried.emplace(sign.sow, static_cast<int>(sign.time_h / 24));
  for (const auto& clogged : of_kind(suspicion, EventKind::drinker_clogged)) {  // seen to be dry at the next looks
    for (const int later_d : {0, 1, 2}) worried.emplace(clogged.sow, static_cast<int>(clogged.time_h / 24) + later_d);
  }
  for (const auto& found : of_kind(suspicion, EventKind::drinker_mended)) {
    const int day = static_cast<int>(found.time_h / 24);
    EXPECT_TRUE(day <= 1 || worried.contains({found.sow, day})) << "sow " << found.sow << " on day " << day;
  }
}

// The group's day 1 is a Tuesday; that they were due then is no reason never to look.
TEST(WaterPolicy, OnSuspicionLooksAtAllDrinkersOnTheFirstDayThatSomebodyIsAtWork) {
  const SimulatedFarm room(
      "start: 2026-01-12\nroom: {crates: 12, drinker_blockages: off}\nherd: {health: off}\n"
      "climate: {kind: imposed, temperature: 20}\nwater: {kind: on_suspicion}\n"
      "staff: {shifts: [{days: [mon, wed, thu, fri, sat, sun], people: 2}]}\n");
  const auto kinds = room.column(room.tables().tasks, "kind"), asked_h = room.column(room.tables().tasks, "asked_h"),
             animals = room.column(room.tables().tasks, "animals");
  double first_h = 0, looked_at = 0;
  for (std::size_t i = 0; i < kinds.size(); ++i) {
    if (static_cast<TaskKind>(static_cast<int>(kinds[i])) != TaskKind::drinker_check) continue;
    if (looked_at == 0) first_h = asked_h[i];
    if (asked_h[i] == first_h) looked_at += animals[i];
  }
  EXPECT_EQ(static_cast<int>(first_h / 24), 2);
  EXPECT_EQ(looked_at, 12);
}

TEST(LoadingPolicy, TeachesOnlyWhomItMeansTo) {
  const std::string gilts = chamber + "herd: {health: off, every_sow: {parity: 1}}\n";
  const std::vector<std::pair<std::string, double>> nobody_knows = {{"sow.learning.knows_drinker_at_loading", 0.0}};
  const auto lessons = [&](const char* keys) {
    return of_kind(SimulatedFarm(gilts + "loading: " + keys + "\n", 0, nobody_knows), EventKind::gilt_trained).size();
  };
  EXPECT_EQ(lessons("{teach: everyone}"), 12);
  EXPECT_EQ(lessons("{teach: nobody}"), 0);
  EXPECT_LE(lessons("{teach: slow_to_eat}"), 12);
  EXPECT_GE(lessons("{teach: slow_to_eat, again: true}"), lessons("{teach: slow_to_eat}"));
}

TEST(LoadingPolicy, SpreadGiltsCostWalks) {
  const std::string gilts = chamber + "herd: {health: off, every_sow: {parity: 1}}\n";
  const auto minutes = [&](const char* kind) {
    const SimulatedFarm room(gilts + "loading: {kind: " + kind + "}\n");
    double sum = 0;
    for (const double spent : room.column(room.tables().tasks, "minutes")) sum += spent;
    return sum;
  };
  EXPECT_GT(minutes("gilts_spread"), 1.1 * minutes("gilts_together"));
}

TEST(AttendancePolicy, CloseWatchPassesByTheSowsThatGoOnWell) {
  const SimulatedFarm all(chamber + "attendance: {kind: rounds, round_every: 15 min}\n");
  const SimulatedFarm some(chamber + "attendance: {kind: close_watch, round_every: 15 min}\n");
  EXPECT_LT(asked_for(some, TaskKind::farrowing_round).animals,
            0.8 * asked_for(all, TaskKind::farrowing_round).animals);
  EXPECT_GT(asked_for(some, TaskKind::farrowing_round).animals, 0);
}

TEST(AttendancePolicy, NightPeopleAttendBirthsOfTheNight) {
  const auto attended = [](const char* keys) {
    const SimulatedFarm room(chamber + "attendance: {" + keys +
                             "}\nstaff: {shifts: [{from: \"07:00\", until: "
                             "\"16:00\", people: 2}]}\n");
    double births = 0;
    for (const double count : room.column(room.tables().sows, "attended_births")) births += count;
    return births;
  };
  EXPECT_GT(attended("night_people: 1"), 1.5 * attended("night_people: 0"));
}

TEST(AttendancePolicy, HelpWaitsAsLongAsItSays) {
  for (const int wait_min : {20, 90}) {
    const SimulatedFarm room(chamber + "attendance: {help_after: " + std::to_string(wait_min) + " min}\n");
    std::map<int, double> last_birth_h;
    std::set<int> helped;
    for (const auto& event : room.events()) {
      if (event.what == EventKind::piglet_born || event.what == EventKind::piglet_stillborn)
        last_birth_h[event.sow] = event.time_h;
      if (event.what != EventKind::exam_made || !helped.insert(event.sow).second) continue;
      EXPECT_GE(event.time_h - last_birth_h[event.sow], wait_min / 60.0 - 1e-9) << "sow " << event.sow;
    }
    EXPECT_FALSE(helped.empty());
  }
}

TEST(CarePolicy, ByTemperatureTreatsThoseWhoseReadingReachesTheAlarm) {
  const std::vector<std::pair<std::string, double>> often = {{"sow.post_partum_disorder.risk.intercept", 0.0}};
  const SimulatedFarm room(chamber + "care: {kind: by_temperature, alarm: 39.2 degC}\n", 0, often);
  const auto reading_deg_c = room.column(room.tables().sows, "rectal_temperature_deg_c"),
             treated_h = room.column(room.tables().sows, "treated_h");
  int treated = 0;
  for (std::size_t i = 0; i < treated_h.size(); ++i) {
    EXPECT_EQ(reading_deg_c[i] >= 39.2, !std::isnan(treated_h[i])) << reading_deg_c[i] << " degC";
    treated += !std::isnan(treated_h[i]);
  }
  EXPECT_GT(treated, 0);
  EXPECT_LT(treated, 12);
}

TEST(CarePolicy, BySignsTakesAReadingForASignFromTheAlarmOn) {
  for (const double alarm_deg_c : {39.0, 40.5}) {
    std::ostringstream care;
    care << "care: {kind: by_signs, checks: [temperature], signs_to_treat: 1, alarm: " << alarm_deg_c << " degC}\n";
    const SimulatedFarm room(chamber + care.str());
    const auto reading_deg_c = room.column(room.tables().sows, "rectal_temperature_deg_c"),
               treated_h = room.column(room.tables().sows, "treated_h");
    int taken = 0;
    for (std::size_t i = 0; i < treated_h.size(); ++i) {
      EXPECT_EQ(reading_deg_c[i] >= alarm_deg_c, !std::isnan(treated_h[i])) << reading_deg_c[i] << " degC";
      taken += !std::isnan(reading_deg_c[i]);
    }
    EXPECT_EQ(taken, 12);
  }
}

TEST(CarePolicy, MakesSowsStandUpAtItsTimes) {
  const SimulatedFarm room(chamber + "care: {stand_up: [\"09:30\", \"14:00\"]}\n");
  const auto rounds = of_kind(room, EventKind::stood_up);
  EXPECT_GT(rounds.size(), 12 * 20 * 1.5) << "twelve sows for some 20 working days and more";
  for (const auto& round : rounds) EXPECT_GE(std::fmod(round.time_h, 24.0), 9.5);
}

TEST(CarePolicy, WeansEarlyOnlyOffFeedSowsFromItsDayOn) {
  const std::string by_trough = chamber + "group: {lactation_days: 28}\nfeeding: {allowance: {rule: by_trough}}\n";
  const std::vector<std::pair<std::string, double>> stay_ill = {
      {"sow.post_partum_disorder.while_ill.appetite_multiplier", 0.0},
      {"sow.post_partum_disorder.course.recovery_untreated", 0.01}};
  int early = 0;
  for (std::uint32_t replicate = 0; replicate < 4; ++replicate) {
    const std::string watched = "care: {kind: watch_only, ";
    const SimulatedFarm together(by_trough + watched + "wean_early: false}\n", replicate, stay_ill);
    const SimulatedFarm apart(by_trough + watched + "wean_early: true, wean_from_day: 19, off_feed_days: 1}\n",
                              replicate, stay_ill);
    const auto length_d = apart.column(apart.tables().sows, "lactation_length_d");
    const auto usual_d = together.column(together.tables().sows, "lactation_length_d");
    for (std::size_t i = 0; i < length_d.size(); ++i) {
      if (std::isnan(length_d[i]) || length_d[i] >= usual_d[i]) continue;  // lost, or weaned with the group
      ++early;
      EXPECT_GE(length_d[i], 19);
    }
  }
  EXPECT_GT(early, 0);
}

// Feeds as she is allowed; sets an allowance at her first check and has nothing more to say after it.
class AllowedOnce final : public FeedingPolicy {
 public:
  std::span<const Duration> rounds() const override { return rounds_; }
  std::span<const Duration> pre_farrow_rounds() const override { return rounds_; }
  std::optional<FeedingDecision> decide(const FeedingView& view) const override {
    return FeedingDecision{FeedAccess::by_hand, view.own_allowance_kg_per_day.value_or(2)};
  }
  bool checks_troughs() const override { return true; }
  std::optional<TroughDecision> at_trough_check(const TroughView& view) const override {
    return view.own_allowance_kg_per_day ? TroughDecision{} : TroughDecision{.allowance_kg_per_day = 3};
  }
  bool wet() const override { return false; }
  std::string describe() const override { return "an allowance of 3 kg/d from the first check on"; }

 private:
  std::vector<Duration> rounds_ = {7_h};
};

// Planned twice a day until weaning: who is left over is told when it changes, not at every plan.
TEST(FosteringPolicy, TellsOfPigletsLeftOverOnlyWhenThatIsNews) {
  const SimulatedFarm room(
      "room: {crates: 24}\nclimate: {kind: imposed}\nfostering: {kind: fill_teats, max_moved: 0.02}\n");
  std::map<double, std::map<double, double>> news;  // time -> why -> piglets
  for (const auto& event : of_kind(room, EventKind::piglets_left_over)) news[event.time_h][event.detail] = event.amount;
  EXPECT_GT(news.size(), 1u);
  EXPECT_LT(news.size(), 2u * 21) << "times of planning in a lactation";
  for (auto now = news.begin(); now != news.end(); ++now) {
    if (now != news.begin()) {
      EXPECT_NE(now->second, std::prev(now)->second) << now->first << " h";
    }
    for (const auto& [why, piglets] : now->second) EXPECT_GE(piglets, 1);
  }
}

TEST(FosteringPolicy, TellsOfEachPlanThatMovesPiglets) {
  const SimulatedFarm room("room: {crates: 24}\nclimate: {kind: imposed}\nfostering: {kind: fill_and_equalise}\n");
  const auto plans = of_kind(room, EventKind::moves_planned), moves = of_kind(room, EventKind::piglet_moved);
  ASSERT_FALSE(moves.empty());
  ASSERT_FALSE(plans.empty());
  EXPECT_LE(plans.front().time_h, moves.front().time_h) << "planned, then carried out";
  EXPECT_LE(plans.size(), moves.size()) << "a plan without moves is no news";
}

TEST(FeedingPolicy, ChangesTheAllowanceByParityFromTheFirstDayOfLactationOn) {
  const auto offered_kg = [](const char* feeding, int lactation_day) {
    const SimulatedFarm room(
        "room: {crates: 12, trough_capacity: 12 kg}\nclimate: {kind: imposed, temperature: 20}\n"
        "herd: {health: off, every_sow: {parity: 3}}\n" +
        std::string(feeding));
    const auto day = room.column(room.tables().sow_days, "day"),
               offered = room.column(room.tables().sow_days, "offered_kg");
    double sum = 0;
    for (std::size_t i = 0; i < day.size(); ++i) sum += day[i] == lactation_day ? offered[i] : 0;
    return sum / 12;
  };
  const char* usual = "feeding: {kind: hand, allowance: {start: 3}}\n";
  const char* changed = "feeding: {kind: hand, allowance: {start: 3, change_by_parity: [0, -1]}}\n";
  EXPECT_EQ(offered_kg(changed, 0), offered_kg(usual, 0));
  EXPECT_NEAR(offered_kg(changed, 1), offered_kg(usual, 1) - 1, 0.2);
}

const std::string twelve_drops =
    "times: [\"00:00\", \"02:00\", \"04:00\", \"06:00\", \"08:00\", \"10:00\", \"12:00\", \"14:00\", \"16:00\", "
    "\"18:00\", \"20:00\", \"22:00\"]";

// What she left since yesterday is judged, not one meal of many. Sows without water eat nothing.
TEST(FeedingPolicy, ManyDropsADayFlagASowThatLeftNearlyAllOfThem) {
  const SimulatedFarm room(chamber + "water: {every: 0}\nfeeding: {kind: drops, " + twelve_drops +
                               ", allowance: {rule: by_trough, max: 5 kg/d}}\n",
                           0, {{"room.drinkers.full_block_hazard", 0.05}});
  int left_all = 0, left_none = 0;
  for (int sow = 1; sow <= 12; ++sow) {
    double offered_kg = 0, eaten_kg = 0, left_kg = missing;
    const auto events = room.events(sow);
    for (std::size_t i = 0; i < events.size(); ++i) {
      const auto& event = events[i];
      if (event.what == EventKind::feed_delivered) offered_kg += event.amount;
      if (event.what == EventKind::meal_eaten) eaten_kg += event.amount;
      if (event.what != EventKind::trough_checked) continue;
      const bool flagged = i + 1 < events.size() && events[i + 1].what == EventKind::sow_flagged;
      const bool after_another = !std::isnan(left_kg);
      left_kg = event.amount;
      if (after_another && offered_kg > 0 && eaten_kg < 0.1 * offered_kg) {
        ++left_all;
        EXPECT_TRUE(flagged) << "sow " << sow << " at " << event.time_h << " h";
      }
      if (left_kg < eaten_kg / 12) {
        ++left_none;
        EXPECT_FALSE(flagged) << "sow " << sow << " at " << event.time_h << " h";
      }
      offered_kg = eaten_kg = 0;
    }
  }
  EXPECT_GT(left_all, 10);
  EXPECT_GT(left_none, 50);
}

// The default shift ends at 16:00, so that a look then is never made: stale feed stays, and sows eat less of it, but
// eat.
TEST(FeedingPolicy, ALookAtMachinesThatIsNeverMadeStarvesNobody) {
  const auto eaten_kg_per_day = [](const std::string& look) {
    const SimulatedFarm room(chamber + "feeding: {kind: drops, look: \"" + look + "\"}\n");
    const auto kg = room.column(room.tables().sows, "feed_intake_kg_per_day");
    return std::accumulate(kg.begin(), kg.end(), 0.0) / static_cast<double>(kg.size());
  };
  const double made = eaten_kg_per_day("15:55"), never_made = eaten_kg_per_day("16:00");
  EXPECT_LT(never_made, made);
  EXPECT_GT(never_made, 0.6 * made);
}

double mean_of(const SimulatedFarm& room, const char* column) {
  const auto values = room.column(room.tables().sows, column);
  return std::accumulate(values.begin(), values.end(), 0.0) / static_cast<double>(values.size());
}

TEST(FeedingPolicy, AnAllowanceByTroughFeedsAtLeastAsMuchAsTheStepUpAndLeavesNoMore) {
  const std::string many = "room: {crates: 120}\nstaff: {shifts: [{from: \"07:00\", until: \"17:00\", people: 12}]}\n";
  const SimulatedFarm step_up(many), by_trough(many + "feeding: {allowance: {rule: by_trough}}\n");
  EXPECT_GE(mean_of(by_trough, "feed_intake_d1_7_kg_per_day"), mean_of(step_up, "feed_intake_d1_7_kg_per_day"));
  EXPECT_GE(mean_of(by_trough, "feed_intake_kg_per_day"), mean_of(step_up, "feed_intake_kg_per_day"));
  EXPECT_LT(mean_of(by_trough, "feed_removed_kg"), mean_of(step_up, "feed_removed_kg") + 1);
  EXPECT_LT(mean_of(by_trough, "untouched_mornings"), mean_of(step_up, "untouched_mornings"));
}

TEST(FeedingPolicy, MorningsAreCountedUnderEveryPolicyAndChecksWhereTheyAreMade) {
  const SimulatedFarm scant(chamber + "feeding: {allowance: {rule: flat, amount: 1.5 kg/d}}\n");
  EXPECT_GT(mean_of(scant, "trough_mornings"), 15);
  EXPECT_GT(mean_of(scant, "empty_mornings"), 0.8 * mean_of(scant, "trough_mornings"));
  const SimulatedFarm plenty(chamber + "feeding: {allowance: {rule: flat, amount: 16 kg/d}}\n");
  EXPECT_GT(mean_of(plenty, "untouched_mornings"), 0.5 * mean_of(plenty, "trough_mornings"));
  EXPECT_LT(mean_of(plenty, "empty_mornings"), 0.1 * mean_of(plenty, "trough_mornings"));
  EXPECT_EQ(mean_of(plenty, "checked_untouched_mornings"), 0) << "nobody makes the check";
  const SimulatedFarm checked(chamber + "feeding: {allowance: {rule: by_trough}}\n");
  EXPECT_EQ(mean_of(checked, "checked_empty_mornings"), mean_of(checked, "empty_mornings"));
  const SimulatedFarm full(chamber + "feeding: {kind: full_access}\n");
  EXPECT_LT(mean_of(full, "trough_mornings"), 2) << "a hopper is neither empty nor untouched";
}

TEST(FeedingPolicy, OfAUserIsFoundByItsNameAndAnAllowanceHoldsUntilAnotherIsSet) {
  PolicyCatalogues catalogues = PolicyCatalogues::built_in();
  catalogues.feeding.push_back(
      {"allowed_once", "An allowance once set.", [](Section&) { return std::make_shared<AllowedOnce>(); }});
  const SimulatedFarm room(chamber + "feeding: {kind: allowed_once}\nherd: {health: off}\n", 0, {}, catalogues);
  const auto day = room.column(room.tables().sow_days, "day"),
             offered = room.column(room.tables().sow_days, "offered_kg");
  int late_days = 0;
  for (std::size_t i = 0; i < day.size(); ++i) {
    if (day[i] < 4) continue;
    ++late_days;
    EXPECT_NEAR(offered[i], 3, 1e-9) << "day " << day[i];
  }
  EXPECT_GT(late_days, 100);
}

}  // namespace
}  // namespace farrowtide
