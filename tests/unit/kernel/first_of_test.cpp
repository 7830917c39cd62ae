// Waits for the first of several, and signals and milestones.
#include "libsim/kernel/first_of.hpp"

#include <gtest/gtest.h>

#include <string>

#include "libsim/kernel/resource.hpp"
#include "libsim/kernel/signal.hpp"
#include "tests/unit/kernel/diary.hpp"

namespace farrowtide {
namespace {

using testing::at;
using testing::Diary;
using testing::Lines;

struct World : Diary {
  Signal bell;
  Signal horn;
  Milestone weaned;
  Resource person{clock, 1};
};

Process<> occupy(World& world, Duration work) {
  auto seat = co_await world.person.acquire();
  co_await seat.serve(work);
}

TEST(Signal, WakesThoseWhoWaitOnceInTheOrderInWhichTheyCame) {
  World world;
  const auto listener = [](World& w, std::string name) -> Process<> {
    for (;;) {
      co_await w.bell.wait();
      w.note(name);
    }
  };
  for (const char* name : {"a", "b"}) world.clock.spawn(listener(world, name));
  world.bell.fire();  // nobody waits yet: forgotten
  world.clock.schedule(at(5), Order::animal, [&] {
    world.bell.fire();
    world.bell.fire();  // both are on their way already
  });
  world.clock.run();
  EXPECT_EQ(world.lines, (Lines{"a@5", "b@5"}));
}

TEST(Signal, FireOneWakesWhoWaitedLongest) {
  World world;
  const auto listener = [](World& w, std::string name) -> Process<> {
    co_await w.bell.wait();
    w.note(name);
  };
  for (const char* name : {"a", "b"}) world.clock.spawn(listener(world, name));
  world.clock.run_until(at(1));
  EXPECT_TRUE(world.bell.fire_one());
  world.clock.run_until(at(2));
  EXPECT_EQ(world.lines, Lines{"a@1"});
  EXPECT_TRUE(world.bell.fire_one());
  EXPECT_FALSE(world.bell.fire_one());
}

TEST(Milestone, StaysReached) {
  World world;
  const auto waiter = [](World& w, Duration first) -> Process<> {
    co_await w.clock.delay(first);
    co_await w.weaned.wait();
    w.note("weaned");
  };
  world.clock.spawn(waiter(world, 1_s));
  world.clock.spawn(waiter(world, 20_s));
  world.clock.schedule(at(10), Order::animal, [&] { world.weaned.reach(); });
  EXPECT_FALSE(world.weaned.reached());
  world.clock.run();
  EXPECT_EQ(world.lines, (Lines{"weaned@10", "weaned@20"}));
  EXPECT_TRUE(world.weaned.reached());
}

TEST(FirstOf, LeftmostOfTheArmsSatisfiedAlreadyWinsAndNothingIsArmed) {
  World world;
  const auto life = [](World& w) -> Process<> {
    w.weaned.reach();
    auto first = co_await first_of(w.bell.wait(), w.weaned.wait(), w.person.acquire());
    w.note("arm " + std::to_string(first.which()) + ", in use " + std::to_string(w.person.in_use()));
    auto second = co_await first_of(w.person.acquire(), w.weaned.wait());
    w.note("arm " + std::to_string(second.which()) + ", in use " + std::to_string(w.person.in_use()));
  };
  world.clock.spawn(life(world));
  world.clock.run();
  EXPECT_EQ(world.lines, (Lines{"arm 1, in use 0@0", "arm 0, in use 1@0"}));
  EXPECT_EQ(world.clock.events_fired(), 1U);
}

TEST(FirstOf, FirstEventOfTheSecondWinsAndASecondOneChangesNothing) {
  World world;
  const auto life = [](World& w) -> Process<> {
    const auto first = co_await first_of(w.bell.wait(), w.horn.wait(), w.clock.delay(10_s, Order::decision));
    w.note("arm " + std::to_string(first.which()));
    co_await w.bell.wait();
    w.note("bell again");
  };
  world.clock.spawn(life(world));
  world.clock.schedule(at(10), Order::animal, [&] {
    world.horn.fire();
    world.bell.fire();  // lost: the horn has won, and nobody listens to the bell yet
  });
  world.clock.run();
  EXPECT_EQ(world.lines, Lines{"arm 1@10"});
}

TEST(FirstOf, SeatThatComesFreeInTheSecondPatienceEndsIsServed) {
  World world;
  const auto patient = [](World& w) -> Process<> {
    const auto seat = co_await w.person.acquire_within(100_s);
    w.note(seat ? "served" : "gave up");
  };
  world.clock.spawn(occupy(world, 100_s));
  world.clock.spawn(patient(world));
  world.clock.run();
  EXPECT_EQ(world.lines, Lines{"served@100"});
}

TEST(FirstOf, PatienceOneSecondShorterGivesUpAndLeavesTheQueue) {
  World world;
  const auto patient = [](World& w) -> Process<> {
    const auto seat = co_await w.person.acquire_within(99_s);
    w.note(seat ? "served" : "gave up");
    w.note("waiting " + std::to_string(w.person.waiting()));
  };
  world.clock.spawn(occupy(world, 100_s));
  world.clock.spawn(patient(world));
  world.clock.run();
  EXPECT_EQ(world.lines, (Lines{"gave up@99", "waiting 0@99"}));
}

TEST(FirstOf, ResultOwnsTheSeatUntilItIsTaken) {
  World world;
  const auto drops = [](World& w) -> Process<> {
    {
      const auto result = co_await first_of(w.person.acquire(), w.clock.delay(1_s));
      w.note("held " + std::to_string(w.person.in_use()));
    }
    w.note("held " + std::to_string(w.person.in_use()));
    auto result = co_await first_of(w.person.acquire(), w.clock.delay(1_s));
    const Seat seat = result.take<0>();
    w.note("taken " + std::to_string(w.person.in_use()));
    EXPECT_THROW(static_cast<void>(result.take<1>()), InternalError);
  };
  world.clock.spawn(drops(world));
  world.clock.run();
  EXPECT_EQ(world.lines, (Lines{"held 1@0", "held 0@0", "taken 1@0"}));
}

TEST(FirstOf, OfTwoRequestsAtOneResourceHoldsOneSeat) {
  World world;
  const auto greedy = [](World& w) -> Process<> {
    auto first = co_await first_of(w.person.acquire(), w.person.acquire());
    w.note("arm " + std::to_string(first.which()) + ", in use " + std::to_string(w.person.in_use()) + ", waiting " +
           std::to_string(w.person.waiting()));
  };
  world.clock.spawn(occupy(world, 50_s));
  world.clock.spawn(greedy(world));
  world.clock.run();
  EXPECT_EQ(world.lines, Lines{"arm 0, in use 1, waiting 0@50"});
  EXPECT_EQ(world.person.in_use(), 0);
}

TEST(FirstOf, ArmingMaySatisfyAnEarlierArm) {
  World world;
  // Its own urgent request pushes out its own work as soon as that begins.
  const auto life = [](World& w) -> Process<> {
    auto seat = co_await w.person.acquire(Rank{5});
    auto first = co_await first_of(w.person.acquire(Rank{1}, Preempt::yes), seat.serve(10_s), w.bell.wait());
    w.note("arm " + std::to_string(first.which()) + (seat ? " seated" : " empty"));
    co_await w.clock.delay(1_s);
    w.note("in use " + std::to_string(w.person.in_use()));
  };
  world.clock.spawn(life(world));
  world.clock.run();
  EXPECT_EQ(world.lines, (Lines{"arm 0 empty@0", "in use 1@1"}));
}

TEST(FirstOf, ThatFailsToArmLeavesNothingBehind) {
  World world;
  const auto life = [](World& w) -> Process<> {
    std::string caught;
    try {
      const auto first = co_await first_of(w.person.acquire(), w.bell.wait(), w.clock.delay(-5_s));
      w.note(std::to_string(first.which()));
    } catch (const UserError&) {
      caught = "caught, waiting " + std::to_string(w.person.waiting());
    }
    w.bell.fire();
    co_await w.clock.delay(100_s);
    w.note(caught);
  };
  world.clock.spawn(occupy(world, 50_s));
  world.clock.spawn(life(world));
  world.clock.run();
  EXPECT_EQ(world.lines, Lines{"caught, waiting 0@100"});
}

// The first request is in the way of the second one's pre-emption; its withdrawal gives the second a seat, too late.
TEST(FirstOf, SeatGrantedWhileItIsGivenUpWakesNobodyAndGoesBack) {
  World world;
  const auto routine = [](World& w) -> Process<> {
    auto seat = co_await w.person.acquire(Rank{5});
    co_await w.clock.delay(20_s);  // not yet a victim
    co_await seat.serve(50_s);
    w.note("routine done x" + std::to_string(seat.interruptions()));
  };
  const auto life = [](World& w) -> Process<> {
    const auto first =
        co_await first_of(w.person.acquire(Rank{1}), w.person.acquire(Rank{1}, Preempt::yes), w.bell.wait());
    w.note("never " + std::to_string(first.which()));
  };
  world.clock.spawn(routine(world));
  const ProcessRef process = world.clock.spawn(life(world), Order::task, at(10));
  world.clock.run_until(at(30));
  EXPECT_EQ(world.clock.stop(process), Stop::stopped);
  world.clock.run();
  EXPECT_EQ(world.lines, Lines{"routine done x1@70"});  // pushed out for no time at all
  EXPECT_EQ(world.person.in_use() + world.person.waiting(), 0);
}

TEST(FirstOf, CanWaitForTheEndOfAnotherProcess) {
  World world;
  const auto life = [](World& w) -> Process<> {
    const Scoped work(w.clock, occupy(w, 30_s));
    auto first = co_await first_of(w.clock.join(work.process()), w.weaned.wait());
    const bool finished = first.which() == 0 && first.take<0>() == Ending::finished;
    w.note(finished ? "work finished" : "other");
  };
  world.clock.spawn(life(world));
  world.clock.run();
  EXPECT_EQ(world.lines, Lines{"work finished@30"});
}

// Patience ends before the other process does: its end is nothing to the one who has stopped waiting for it.
TEST(FirstOf, ThatGaveUpIsNotWokenByTheEndOfTheOtherProcess) {
  World world;
  const ProcessRef work = world.clock.spawn(occupy(world, 30_s));
  const auto life = [](World& w, ProcessRef other) -> Process<> {
    const auto first = co_await first_of(w.clock.join(other), w.clock.delay(10_s));
    w.note(first.which() == 1 ? "gave up" : "work finished");
    co_await w.clock.delay(40_s);
    w.note("went on");
  };
  world.clock.spawn(life(world, work));
  world.clock.run();
  EXPECT_EQ(world.lines, (Lines{"gave up@10", "went on@50"}));
}

}  // namespace
}  // namespace farrowtide
