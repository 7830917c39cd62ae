// Ties: what happens, in which order, when everything happens in the same second.
#include <gtest/gtest.h>

#include <memory>

#include <string>

#include "libsim/kernel/errors.hpp"
#include "libsim/kernel/first_of.hpp"
#include "libsim/kernel/signal.hpp"
#include "tests/unit/kernel/diary.hpp"

namespace farrowtide {
namespace {

using testing::at;
using testing::Diary;
using testing::Lines;

Process<> note_after(Diary& diary, Duration wait, std::string what) {
  co_await diary.clock.delay(wait);
  diary.note(what);
}

TEST(SameSecond, OrdersComeInTheirSequenceThenFirstScheduledFirst) {
  Diary diary;
  for (const Order order : {Order::record, Order::task, Order::decision, Order::release, Order::animal,
                            Order::environment, Order::animal}) {
    diary.clock.schedule(at(10), order, [&diary, order] { diary.note(to_string(order)); });
  }
  diary.clock.run();
  EXPECT_EQ(diary.lines,
            (Lines{"environment@10", "animal@10", "animal@10", "release@10", "decision@10", "task@10", "record@10"}));
}

TEST(SameSecond, RescheduledEventQueuesBehindItsEquals) {
  Diary diary;
  const EventId first = diary.clock.schedule(at(10), Order::animal, [&] { diary.note("first"); });
  diary.clock.schedule(at(10), Order::animal, [&] { diary.note("second"); });
  EXPECT_TRUE(diary.clock.reschedule(first, at(10)));
  diary.clock.run();
  EXPECT_EQ(diary.lines, (Lines{"second@10", "first@10"}));
}

TEST(SameSecond, EarlierOrderScheduledByALaterOneRunsNext) {
  Diary diary;
  diary.clock.schedule(at(10), Order::decision, [&] {
    diary.note("decision");
    diary.clock.schedule(at(10), Order::environment, [&] { diary.note("environment"); });
  });
  diary.clock.schedule(at(10), Order::task, [&] { diary.note("task"); });
  diary.clock.run();
  EXPECT_EQ(diary.lines, (Lines{"decision@10", "environment@10", "task@10"}));
}

TEST(SameSecond, EventCancelledInItsOwnSecondDoesNotFire) {
  Diary diary;
  const EventId victim = diary.clock.schedule(at(10), Order::task, [&] { diary.note("victim"); });
  bool cancelled = false;
  diary.clock.schedule(at(10), Order::animal, [&] { cancelled = diary.clock.cancel(victim); });
  EXPECT_TRUE(diary.clock.pending(victim));
  diary.clock.run();
  EXPECT_TRUE(cancelled);
  EXPECT_FALSE(diary.clock.pending(victim));
  EXPECT_FALSE(diary.clock.cancel(victim));
  EXPECT_FALSE(diary.clock.reschedule(victim, at(20)));
  EXPECT_EQ(diary.lines, Lines{});
}

TEST(Spawn, FirstStepWaitsItsTurnInTheList) {
  Diary diary;
  const auto starter = [](Diary& d) -> Process<> {
    d.clock.spawn(note_after(d, 0_s, "child"));
    d.note("parent");
    co_return;
  };
  diary.clock.spawn(starter(diary));
  EXPECT_EQ(diary.lines, Lines{});
  diary.clock.run();
  EXPECT_EQ(diary.lines, (Lines{"parent@0", "child@0"}));
}

TEST(Spawn, HomeOrderRulesFirstStepAndDelays) {
  Diary diary;
  diary.clock.spawn(note_after(diary, 10_s, "task"), Order::task);
  diary.clock.spawn(note_after(diary, 10_s, "environment"), Order::environment);
  const auto explicit_order = [](Diary& d) -> Process<> {
    co_await d.clock.delay(10_s, Order::decision);
    d.note("decision");
  };
  diary.clock.spawn(explicit_order(diary), Order::environment);
  diary.clock.run();
  EXPECT_EQ(diary.lines, (Lines{"environment@10", "decision@10", "task@10"}));
}

TEST(Spawn, CanBeginLaterButNotInThePast) {
  Diary diary;
  diary.clock.spawn(note_after(diary, 5_s, "later"), Order::animal, at(20));
  diary.clock.run();
  EXPECT_EQ(diary.lines, Lines{"later@25"});
  EXPECT_THROW(diary.clock.spawn(note_after(diary, 5_s, "never"), Order::animal, at(24)), UserError);
}

TEST(Delay, OfZeroLetsEverythingDueGoFirst) {
  Diary diary;
  const auto patient = [](Diary& d) -> Process<> {
    co_await d.clock.delay(0_s);
    d.note("patient");
  };
  diary.clock.spawn(patient(diary));
  diary.clock.schedule(at(0), Order::animal, [&] { diary.note("due"); });
  diary.clock.run();
  EXPECT_EQ(diary.lines, (Lines{"due@0", "patient@0"}));
}

TEST(Delay, IntoThePastIsAUserErrorThatNamesBothTimes) {
  Diary diary;
  diary.clock.spawn(note_after(diary, -5_s, "never").named("time traveller", 7), Order::animal, at(3600));
  try {
    diary.clock.run();
    FAIL() << "no error";
  } catch (const UserError& error) {
    const std::string message = error.what();
    for (const char* part : {"day 0 00:59:55", "day 0 01:00:00", "time traveller 7", "order animal"}) {
      EXPECT_NE(message.find(part), std::string::npos) << part << " not in: " << message;
    }
  }
}

// A process does not run inside another one: what it sees does not change between two of its waits.
TEST(WakeUp, LetsTheOneThatWakesGoOnFirst) {
  Diary diary;
  Signal signal;
  const auto listener = [](Diary& d, Signal& s) -> Process<> {
    co_await s.wait();
    d.note("listener");
  };
  const auto firer = [](Diary& d, Signal& s) -> Process<> {
    co_await d.clock.delay(1_s);
    s.fire();
    d.note("firer");
  };
  diary.clock.spawn(listener(diary, signal));
  diary.clock.spawn(firer(diary, signal));
  diary.clock.schedule(at(1), Order::decision, [&] { diary.note("decision"); });
  diary.clock.run();
  EXPECT_EQ(diary.lines, (Lines{"firer@1", "listener@1", "decision@1"}));
}

TEST(RecordOrder, RefusesToScheduleInItsOwnSecond) {
  Diary diary;
  diary.clock.schedule(at(10), Order::record, [&] { diary.clock.schedule(at(11), Order::record, [] {}); });
  EXPECT_NO_THROW(diary.clock.run());
  diary.clock.schedule(at(20), Order::record, [&] { diary.clock.schedule(at(20), Order::animal, [] {}); });
  EXPECT_THROW(diary.clock.run(), InternalError);
  diary.clock.spawn(note_after(diary, 0_s, "never"), Order::record, at(30));
  EXPECT_THROW(diary.clock.run(), InternalError);
}

TEST(RecordOrder, RefusesToWakeInItsOwnSecondAndNamesWhomItWoke) {
  Diary diary;
  Signal signal;
  const auto listener = [](Diary&, Signal& s) -> Process<> { co_await s.wait(); };
  diary.clock.spawn(listener(diary, signal).named("sow", 3));
  diary.clock.schedule(at(10), Order::record, [&] { signal.fire(); });
  try {
    diary.clock.run();
    FAIL() << "no error";
  } catch (const InternalError& error) {
    EXPECT_NE(std::string(error.what()).find("'sow 3'"), std::string::npos) << error.what();
  }
}

TEST(RunUntil, FiresItsLastSecondAndAllowsMoreInIt) {
  Diary diary;
  diary.clock.spawn(note_after(diary, 10_s, "ten"));
  diary.clock.spawn(note_after(diary, 11_s, "eleven"));
  diary.clock.run_until(at(10));
  EXPECT_EQ(diary.lines, Lines{"ten@10"});
  EXPECT_EQ(diary.clock.now(), at(10));
  diary.clock.schedule(at(10), Order::environment, [&] { diary.note("more"); });
  diary.clock.run_until(at(20));
  EXPECT_EQ(diary.lines, (Lines{"ten@10", "more@10", "eleven@11"}));
  EXPECT_EQ(diary.clock.now(), at(20));
  EXPECT_THROW(diary.clock.run_until(at(19)), UserError);
}

TEST(RunUntil, HourByHourGivesTheSameEvents) {
  const auto world = [](Duration step) {
    Diary diary;
    Signal bell;
    const auto ring = [](Diary& d, Signal& s) -> Process<> {
      for (int i = 0; i < 20; ++i) {
        co_await d.clock.delay(30_min);
        s.fire();
      }
    };
    const auto hear = [](Diary& d, Signal& s) -> Process<> {
      for (;;) {
        co_await s.wait();
        d.note("heard");
      }
    };
    diary.clock.spawn(hear(diary, bell));
    diary.clock.spawn(ring(diary, bell));
    for (Time end; end < Time{12_h}; end += step) diary.clock.run_until(end + step);
    return std::make_pair(diary.lines, diary.clock.events_fired());
  };
  EXPECT_EQ(world(12_h), world(1_h));
  EXPECT_EQ(world(12_h).first.size(), 20U);
}

TEST(RunUntil, RefusesToRunInsideItself) {
  Diary diary;
  diary.clock.schedule(at(1), Order::animal, [&] { diary.clock.run(); });
  EXPECT_THROW(diary.clock.run(), InternalError);
}

Process<> spin(Diary& diary) {
  for (;;) co_await diary.clock.delay(0_s);
}

TEST(Livelock, IsReportedWithTheNamesOfThoseWhoSpin) {
  Diary diary;
  diary.clock.set_events_a_second_limit(1000);
  diary.clock.spawn(spin(diary).named("spinner", 1), Order::animal, at(50));
  diary.clock.spawn(note_after(diary, 90_s, "later").named("innocent"));
  try {
    diary.clock.run();
    FAIL() << "no error";
  } catch (const InternalError& error) {
    const std::string message = error.what();
    EXPECT_NE(message.find("spinner 1"), std::string::npos) << message;
    EXPECT_EQ(message.find("innocent"), std::string::npos) << message;
  }
  EXPECT_EQ(diary.clock.events_fired(), 1U + 1001U);  // the innocent one's first step, then one too many
}

TEST(Livelock, IsNotSeenInManyEventsOfDifferentSeconds) {
  Diary diary;
  diary.clock.set_events_a_second_limit(10);
  for (int second = 0; second < 100; ++second) {
    for (int i = 0; i < 10; ++i) diary.clock.schedule(at(second), Order::animal, [] {});
  }
  EXPECT_NO_THROW(diary.clock.run());
  EXPECT_EQ(diary.clock.events_fired(), 1000U);
}

TEST(Watch, IsCalledAfterEverySoManyEventsAndCanEndTheRun) {
  struct Interrupted {};
  Diary diary;
  std::vector<std::uint64_t> calls;
  diary.clock.set_watch(100, [&] {
    calls.push_back(diary.clock.events_fired());
    if (calls.size() == 3) throw Interrupted{};
  });
  for (int second = 0; second < 1000; ++second) diary.clock.schedule(at(second), Order::animal, [] {});
  EXPECT_THROW(diary.clock.run(), Interrupted);
  EXPECT_EQ(calls, (std::vector<std::uint64_t>{100, 200, 300}));
  EXPECT_THROW(diary.clock.set_watch(0, [] {}), InternalError);
}

TEST(Callback, CanScheduleItselfAgain) {
  Diary diary;
  int ticks = 0;
  std::function<void()> tick = [&] {
    diary.note("tick");
    if (++ticks < 3) diary.clock.schedule(diary.clock.now() + 1_h, Order::environment, tick);
  };
  diary.clock.schedule(at(0), Order::environment, tick);
  diary.clock.run();
  EXPECT_EQ(diary.lines, (Lines{"tick@0", "tick@3600", "tick@7200"}));
}

TEST(SameSecond, EventCancelledLetsGoOfWhatItHeld) {
  Simulation clock;
  const auto held = std::make_shared<int>(1);
  const EventId event = clock.schedule(at(5), Order::task, [held] { static_cast<void>(*held); });
  EXPECT_EQ(held.use_count(), 2);
  EXPECT_TRUE(clock.cancel(event));
  EXPECT_EQ(held.use_count(), 1);
}

}  // namespace
}  // namespace farrowtide
