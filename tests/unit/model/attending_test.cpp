// Somebody comes to a sow in labour: what the visit changes at once, minute by minute. Nobody is at work at that time,
// so that nothing happens but what a test does.
#include "libsim/model/attending.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include "libsim/model/labour.hpp"
#include "libsim/model/task_handlers.hpp"
#include "libsim/model/work.hpp"
#include "tests/unit/model/simulated_farm.hpp"

namespace farrowtide {
namespace {

const std::string two_sows =
    "room: {crates: 2, drinker_blockages: off}\nclimate: {kind: imposed, temperature: 20}\n"
    "herd: {health: off, sows: [{parity: 3, total_born: 14, farrows_on_day: 4}, "
    "{parity: 3, total_born: 12, farrows_on_day: 9}]}\n";

// The first sow has been in labour for some time.
struct InLabour : PausedFarm {
  explicit InLabour(Duration since_first_birth = 30_min, const Values& values = {},
                    const std::string& attendance = "{kind: rounds, round_every: 240 min}")
      : PausedFarm(two_sows + "attendance: " + attendance +
                       "\nstaff: {shifts: [{from: \"11:00\", until: \"11:10\", break: 0 min}]}\n",
                   Time{}, values) {
    run_until(sow().traits.onset + since_first_birth);
    EXPECT_TRUE(sow().in_labour(room().now()));
    EXPECT_FALSE(sow(2).in_labour(room().now()));
  }
  Time now() { return room().now(); }
  Litter& litter() { return sow().litter; }
  const TaskHandler& task(TaskKind kind) { return handler_of(kind); }
  void end(TaskKind kind, Sow& whom) {
    const WorkOrder order = work_order(room(), kind, whom);
    handler_of(kind).end(room(), order, order.visits.front());
  }
  int count(EventKind kind) const { return static_cast<int>(std::ranges::count(events(), kind, &Event::what)); }
  Event last(EventKind kind) const {
    const auto all = events();
    return *std::ranges::find(all.rbegin(), all.rend(), kind, &Event::what);
  }
};

TEST(Round, IsWithASowUntilItLeavesAndLooksThen) {
  InLabour farm;
  Labour& labour = farm.sow().labour;
  farm.task(TaskKind::farrowing_round).come(farm.room(), farm.sow());
  EXPECT_EQ(labour.people_present, 1);
  EXPECT_EQ(labour.last_look, farm.now());
  farm.end(TaskKind::farrowing_round, farm.sow());
  EXPECT_EQ(labour.people_present, 0);
}

TEST(Round, IsCalledOffForASowThatIsNotInLabour) {
  InLabour farm;
  const TaskHandler& round = farm.task(TaskKind::farrowing_round);
  EXPECT_FALSE(round.is_called_off(farm.room(), farm.sow(1)));
  EXPECT_TRUE(round.is_called_off(farm.room(), farm.sow(2)));
  EXPECT_FALSE(farm.task(TaskKind::farrowing_watch).is_called_off(farm.room(), farm.sow(2))) << "the first one is";
  EXPECT_FALSE(farm.task(TaskKind::treat_sow).is_called_off(farm.room(), farm.sow(2)));
  farm.sow(2).left.reach();
  EXPECT_TRUE(farm.task(TaskKind::treat_sow).is_called_off(farm.room(), farm.sow(2)));
  farm.run_until(farm.now() + 2_d);
  EXPECT_TRUE(farm.task(TaskKind::farrowing_watch).is_called_off(farm.room(), farm.sow(1)));
}

TEST(Birth, IsAttendedWhileSomebodyIsThere) {
  for (const int people : {0, 1}) {
    InLabour farm;
    const auto before = farm.litter().piglets.size();
    farm.sow().labour.people_present = people;
    farm.run_until(farm.now() + 2_h);
    ASSERT_GT(farm.litter().piglets.size(), before);
    EXPECT_EQ(farm.litter().piglets[before].attended, people > 0);
    EXPECT_FALSE(farm.litter().piglets[before].assisted);
  }
}

TEST(Birth, CountsAsAttendedIfSomebodyComesWithinFiveMinutes) {
  InLabour farm;
  farm.litter().piglets.front().attended = false;
  for (const Duration age : {5_min + 1_s, 5_min}) {
    farm.litter().piglets.front().born = farm.now() - age;
    attend_births(farm.room(), farm.sow());
    EXPECT_EQ(farm.litter().piglets.front().attended, age == 5_min) << age.minutes() << " min";
  }
}

// A stillborn piglet that might be saved, seen a minute after its birth.
InLabour& with_stillborn(InLabour& farm) {
  Piglet& piglet = farm.litter().piglets.emplace_back(farm.litter().piglets.front());
  piglet.birth_rank = 14;
  piglet.life = Life::dead;
  piglet.savable = true;
  piglet.attended = false;
  piglet.born = farm.now() - 1_min;
  ++farm.litter().stillborn;
  ++farm.litter().dead_to_remove;
  return farm;
}

TEST(Stillborn, IsRevivedOrNotAtTheOneAttempt) {
  const auto attended = [](double probability, int times) {
    InLabour farm(30_min,
                  {{"sow.farrowing.help.revival_base", probability}, {"sow.farrowing.help.revival_per_care", 0}});
    farm.run_until(farm.now() + 1_min);
    with_stillborn(farm);
    const int dead = farm.litter().stillborn, alive = farm.litter().born_alive,
              to_remove = farm.litter().dead_to_remove;
    const auto nursing = farm.litter().sucklings.size();
    for (int i = 0; i < times; ++i) attend_births(farm.room(), farm.sow());
    const Piglet& piglet = farm.litter().piglets.back();
    EXPECT_FALSE(piglet.savable);
    EXPECT_TRUE(piglet.attended);
    const bool revived = piglet.life == Life::alive;
    EXPECT_EQ(farm.litter().stillborn, dead - revived);
    EXPECT_EQ(farm.litter().dead_to_remove, to_remove - revived);
    EXPECT_EQ(farm.litter().born_alive, alive + revived);
    EXPECT_EQ(farm.litter().sucklings.size(), nursing + (revived ? 1 : 0));
    EXPECT_EQ(farm.count(EventKind::piglet_revived), revived ? 1 : 0);
    return revived;
  };
  EXPECT_TRUE(attended(1, 2));
  EXPECT_FALSE(attended(0, 2));
}

TEST(Stillborn, IsNotRevivedAfterFiveMinutesNorIfItCannotBeSaved) {
  const Values always = {{"sow.farrowing.help.revival_base", 1}};
  InLabour late(30_min, always);
  with_stillborn(late).litter().piglets.back().born = late.now() - 6_min;
  attend_births(late.room(), late.sow());
  EXPECT_EQ(late.litter().piglets.back().life, Life::dead);
  InLabour long_dead(30_min, always);
  with_stillborn(long_dead).litter().piglets.back().savable = false;
  attend_births(long_dead.room(), long_dead.sow());
  EXPECT_EQ(long_dead.litter().piglets.back().life, Life::dead);
  EXPECT_TRUE(long_dead.litter().piglets.back().attended);
}

TEST(NewbornCare, LowersTheHazardsOfThoseNotCaredForYetAtOnce) {
  InLabour farm(60_min, {}, "{kind: rounds, round_every: 240 min, care_intensity: 1}");
  ASSERT_GT(farm.litter().nursing(), 1);
  Piglet &first = *farm.litter().sucklings.front(), &second = *farm.litter().sucklings.back();
  ASSERT_LT(first.born, second.born);
  first.born = farm.now() - 5_min;
  second.cared_for = true;
  const auto hazard_per_day = [&](const Piglet& piglet) {
    const PerCause& rates = farm.litter().hazards.rates(piglet.slot);
    return rates[static_cast<std::size_t>(DeathCause::starved)] + rates[static_cast<std::size_t>(DeathCause::crushed)];
  };
  const double before = hazard_per_day(first), of_other = hazard_per_day(second);
  care_for_newborn(farm.room(), farm.sow());
  EXPECT_TRUE(first.cared_for);
  EXPECT_EQ(first.care_log_hazard, farm.biology().newborn_care.log_hazard(1, (farm.now() - first.born).minutes()));
  EXPECT_LT(first.care_log_hazard, 0);
  EXPECT_EQ(second.care_log_hazard, 0) << "only once";
  farm.run_until(farm.now());
  EXPECT_LT(hazard_per_day(first), before);
  EXPECT_EQ(hazard_per_day(second), of_other);
}

TEST(NewbornCare, IsNotForTheDead) {
  InLabour farm;
  with_stillborn(farm);
  care_for_newborn(farm.room(), farm.sow());
  EXPECT_FALSE(farm.litter().piglets.back().cared_for);
  EXPECT_TRUE(farm.litter().piglets.front().cared_for);
}

// What a look at a sow in labour asks for, once people are at work: the minutes of care, and exams.
TEST(Look, AsksForCareOfNewbornPigletsByItsExtent) {
  const auto care_min = [](const std::string& intensity) {
    InLabour farm(30_min, {}, "{kind: rounds, round_every: 240 min, care_intensity: " + intensity + "}");
    look_at_labour(farm.room(), farm.sow());
    farm.run_until(Time{} + 5_d);
    double sum = 0;
    const auto kind = farm.column(farm.tables().visits, "kind"), minutes = farm.column(farm.tables().visits, "minutes");
    for (std::size_t i = 0; i < kind.size(); ++i) {
      if (static_cast<TaskKind>(static_cast<int>(kind[i])) == TaskKind::newborn_care && minutes[i] > 0)
        sum += minutes[i];
    }
    return sum;
  };
  EXPECT_EQ(care_min("0"), 0);
  EXPECT_GT(care_min("0.25"), 0);
  EXPECT_NEAR(care_min("0.5") / care_min("0.25"), 2, 0.05) << "in whole seconds";
}

TEST(Look, AsksForCareOfASinglePigletAndOfNoneThatHadIt) {
  for (const int uncared : {0, 1}) {
    InLabour farm;
    for (Piglet& piglet : farm.litter().piglets) piglet.cared_for = true;
    farm.litter().sucklings.front()->cared_for = uncared == 0;
    look_at_labour(farm.room(), farm.sow());
    farm.run_until(farm.now() + 1_d);
    const auto kind = farm.column(farm.tables().visits, "kind");
    EXPECT_EQ(std::ranges::count(kind, static_cast<double>(TaskKind::newborn_care)) > 0, uncared == 1);
  }
}

TEST(Look, AsksForOneExamAtATime) {
  InLabour farm(30_min);
  farm.sow().labour.last_birth = farm.now() - 60_min + 1_s;
  EXPECT_FALSE(needs_exam(farm.room(), farm.sow()));
  look_at_labour(farm.room(), farm.sow());
  EXPECT_FALSE(farm.sow().labour.exam_asked);
  farm.sow().labour.last_birth = farm.now() - 60_min;
  EXPECT_TRUE(needs_exam(farm.room(), farm.sow()));
  EXPECT_FALSE(needs_exam(farm.room(), farm.sow(2))) << "she is not in labour";
  look_at_labour(farm.room(), farm.sow());
  EXPECT_TRUE(farm.sow().labour.exam_asked);
}

TEST(Exam, IsCalledOffOnceSheNeedsNone) {
  InLabour farm;
  const TaskHandler& exam = farm.task(TaskKind::assist);
  farm.sow().labour.exam_asked = true;
  farm.sow().labour.last_birth = farm.now() - 60_min;
  EXPECT_FALSE(exam.is_called_off(farm.room(), farm.sow()));
  EXPECT_TRUE(farm.sow().labour.exam_asked);
  farm.sow().labour.last_birth = farm.now() - 10_min;
  EXPECT_TRUE(exam.is_called_off(farm.room(), farm.sow()));
  EXPECT_FALSE(farm.sow().labour.exam_asked) << "she may be asked for again";
}

// A successful exam frees the piglet two minutes later; the person stays to the end of the task.
TEST(Exam, FreesThePigletIfItSucceeds) {
  for (const double success : {1.0, 0.0}) {
    InLabour farm(33_min, {{"sow.farrowing.help.success", success}});
    const auto births = farm.litter().piglets.size();
    farm.sow().labour.exam_asked = true;
    farm.task(TaskKind::assist).come(farm.room(), farm.sow());
    EXPECT_EQ(farm.sow().labour.exams, 1);
    EXPECT_EQ(farm.last(EventKind::exam_made).amount, 1);
    EXPECT_EQ(farm.last(EventKind::exam_made).detail, success);
    EXPECT_EQ(farm.sow().labour.people_present, 1);
    farm.run_until(farm.now() + 2_min);
    if (success > 0) {
      ASSERT_EQ(farm.litter().piglets.size(), births + 1);
      EXPECT_EQ(farm.litter().piglets.back().born, farm.now());
      EXPECT_TRUE(farm.litter().piglets.back().assisted);
    }
    EXPECT_EQ(farm.sow().labour.assisted, success > 0);
    farm.end(TaskKind::assist, farm.sow());
    EXPECT_EQ(farm.sow().labour.people_present, 0);
    EXPECT_FALSE(farm.sow().labour.exam_asked);
  }
}

TEST(Watch, LooksAtAllSowsInLabourWhenItEnds) {
  InLabour farm;
  farm.sow(1).labour.last_look.reset();
  farm.sow(1).labour.last_birth = farm.now() - 60_min;
  farm.end(TaskKind::farrowing_watch, farm.sow(2));
  EXPECT_EQ(farm.sow(1).labour.last_look, farm.now());
  EXPECT_TRUE(farm.sow(1).labour.exam_asked);
  EXPECT_FALSE(farm.sow(2).labour.last_look) << "she is not in labour";
}

TEST(Watch, SeesToEveryPigletAsItIsBorn) {
  InLabour farm;
  const auto before = farm.litter().piglets.size();
  farm.room().people_watching = 1;
  farm.run_until(farm.now() + 2_h);
  ASSERT_GT(farm.litter().piglets.size(), before);
  for (std::size_t i = before; i < farm.litter().piglets.size(); ++i) {
    EXPECT_TRUE(farm.litter().piglets[i].attended);
    EXPECT_EQ(farm.litter().piglets[i].cared_for, farm.litter().piglets[i].life == Life::alive);
  }
}

TEST(Work, OnALitterChangesWhatItIsFor) {
  InLabour farm;
  farm.run_until(Time{} + 7_d + 12_h);
  Sow& sow = farm.sow();
  sow.litter.dead_to_remove = 3;
  farm.end(TaskKind::remove_dead, sow);
  EXPECT_EQ(sow.litter.dead_to_remove, 0);
  farm.end(TaskKind::train_gilt, sow);
  EXPECT_EQ(sow.water.times_taught, 1);
  EXPECT_TRUE(sow.trained.reached());
  const double drunk_l = sow.water.drunk_standing_l;
  farm.end(TaskKind::stand_up, sow);
  EXPECT_EQ(sow.feeding.stood_up_at, farm.now());
  EXPECT_EQ(sow.feeding.times_stood_up, 1);
  EXPECT_EQ(sow.water.drunk_standing_l, drunk_l + farm.biology().standing_up.drinks_l());
  EXPECT_EQ(farm.last(EventKind::stood_up).time_h, farm.now().since_start().hours());
}

TEST(Processing, DisturbsAndSetsTheLitterBackIfItIsLate) {
  const int late_from = static_cast<int>(Coefficients::built_in().number("staff.late.processing_late_from_day", "d"));
  const double lasts_d = Coefficients::built_in().number("staff.late.processing_late_gain_lasts", "d");
  for (const int day : {late_from - 1, late_from}) {
    InLabour farm;
    farm.run_until(farm.sow().traits.onset.start_of_day() + 2_d);
    farm.run_until(Time{} + *farm.sow().day_0 * 1_d + day * 1_d + 20_h);
    WorkOrder order = work_order(farm.room(), TaskKind::processing, farm.sow());
    order.visits.front().share = 0.25;
    const double processed = farm.litter().processed;
    const int disturbed = farm.count(EventKind::litter_disturbed);
    handler_of(TaskKind::processing).end(farm.room(), order, order.visits.front());
    EXPECT_EQ(farm.litter().processed, processed + 0.25);
    EXPECT_EQ(farm.count(EventKind::litter_disturbed), disturbed + 1);
    const bool late = day == late_from;
    EXPECT_EQ(farm.litter().set_back_until, late ? farm.now() + Duration::from_days(lasts_d) : Time{}) << "day " << day;
    const double drop = farm.biology().handling.drop() * farm.biology().handling.processing_drop_multiplier(day);
    EXPECT_GE(farm.sow().handling.disturbance, drop - 1e-12);
  }
}

TEST(Move, DisturbsTheSowThatReceives) {
  InLabour farm;
  farm.run_until(Time{} + 12_d);
  WorkOrder order = empty_order(farm.room(), TaskKind::foster_move);
  Piglet& piglet = *farm.litter().sucklings.front();
  add_move(farm.room(), order, piglet, farm.sow(2));
  const int disturbed = farm.count(EventKind::litter_disturbed);
  handler_of(TaskKind::foster_move).end(farm.room(), order, order.visits.front());
  EXPECT_EQ(piglet.reared_by, &farm.sow(2));
  EXPECT_EQ(farm.count(EventKind::litter_disturbed), disturbed + 1);
  EXPECT_EQ(farm.last(EventKind::litter_disturbed).sow, 2);
  EXPECT_NEAR(farm.sow(2).handling.disturbance, farm.biology().handling.drop(), 1e-12);
}

}  // namespace
}  // namespace farrowtide
