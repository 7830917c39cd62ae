// Lives: nesting, exceptions, stops, joins, and destruction in every order.
#include "libsim/kernel/process.hpp"

#include <gtest/gtest.h>

#include <memory>
#include <optional>
#include <stdexcept>
#include <string>

#include "libsim/kernel/errors.hpp"
#include "libsim/kernel/first_of.hpp"
#include "libsim/kernel/resource.hpp"
#include "libsim/kernel/signal.hpp"
#include "tests/unit/kernel/diary.hpp"

namespace farrowtide {
namespace {

using testing::at;
using testing::Diary;
using testing::Lines;

/// Notes when it goes out of scope, as a local of a process.
class Farewell {
 public:
  Farewell(Diary& diary, std::string name) : diary_{diary}, name_{std::move(name)} {}
  ~Farewell() { diary_.note(name_ + " gone"); }
  Farewell(const Farewell&) = delete;
  Farewell& operator=(const Farewell&) = delete;

 private:
  Diary& diary_;
  std::string name_;
};

Process<int> double_later(Diary& diary, int n) {
  co_await diary.clock.delay(1_s);
  if (n < 0) throw UserError("negative");
  co_return 2 * n;
}

Process<> sleep(Diary& diary, Duration length) {
  const Farewell farewell(diary, "sleeper");
  co_await diary.clock.delay(length);
  diary.note("awake");
}

Process<> await_end(Diary& diary, ProcessRef target) {
  const Ending ending = co_await diary.clock.join(target);
  diary.note(ending == Ending::finished ? "finished" : ending == Ending::stopped ? "stopped" : "over already");
}

TEST(SubProcess, GivesItsResultToItsCaller) {
  Diary diary;
  const auto life = [](Diary& d) -> Process<> {
    const int four = co_await double_later(d, 2);
    const int eight = co_await double_later(d, four);
    d.note(std::to_string(eight));
  };
  diary.clock.spawn(life(diary));
  diary.clock.run();
  EXPECT_EQ(diary.lines, Lines{"8@2"});
  EXPECT_EQ(diary.clock.events_fired(), 3U);  // the first step and two delays: a call is no event
}

TEST(SubProcess, HandsOverWhatCannotBeCopied) {
  Diary diary;
  const auto make = [](Diary& d) -> Process<std::unique_ptr<int>> {
    co_await d.clock.delay(1_s);
    co_return std::make_unique<int>(5);
  };
  const auto life = [make](Diary& d) {
    return [](Diary& dd, auto maker) -> Process<> {
      const auto five = co_await maker(dd);
      dd.note(std::to_string(*five));
    }(d, make);
  };
  diary.clock.spawn(life(diary));
  diary.clock.run();
  EXPECT_EQ(diary.lines, Lines{"5@1"});
}

TEST(SubProcess, CallsDoNotGrowTheStack) {
  Diary diary;
  const auto nothing = [](Diary&) -> Process<int> { co_return 1; };
  const auto caller = [](Diary& d, auto callee) -> Process<> {
    int calls = 0;
    for (int i = 0; i < 200000; ++i) {
      const int one = co_await callee(d);
      calls += one;
    }
    d.note(std::to_string(calls));
  };
  diary.clock.spawn(caller(diary, nothing));
  diary.clock.run();
  EXPECT_EQ(diary.lines, Lines{"200000@0"});
}

TEST(Exception, OfASubProcessComesOutWhereItWasAwaited) {
  Diary diary;
  const auto life = [](Diary& d) -> Process<> {
    std::string caught;
    try {
      const int never = co_await double_later(d, -1);
      d.note(std::to_string(never));
    } catch (const UserError& error) {
      caught = error.what();
    }
    co_await d.clock.delay(1_s);
    d.note(caught);
  };
  diary.clock.spawn(life(diary));
  diary.clock.run();
  EXPECT_EQ(diary.lines, Lines{"negative@2"});
}

TEST(Exception, OfAProcessLeavesTheRunWithNameAndTimeAndTheOthersAlive) {
  Diary diary;
  const auto doomed = [](Diary& d) -> Process<> {
    const Farewell farewell(d, "doomed");
    const int never = co_await double_later(d, -1);
    d.note(std::to_string(never));
  };
  const ProcessRef process = diary.clock.spawn(doomed(diary).named("stay of sow", 12), Order::animal, at(7200));
  diary.clock.spawn(await_end(diary, process));
  try {
    diary.clock.run();
    FAIL() << "no error";
  } catch (const UserError& error) {
    EXPECT_STREQ(error.what(), "negative (in process 'stay of sow 12', day 0 02:00:01, order animal)");
  }
  EXPECT_FALSE(diary.clock.alive(process));
  diary.clock.run();
  EXPECT_EQ(diary.lines, (Lines{"doomed gone@7201", "stopped@7201"}));
}

TEST(Exception, OfAnotherFamilyFliesThroughUnchanged) {
  struct FromPython {};
  Diary diary;
  diary.clock.schedule(at(1), Order::animal, [] { throw FromPython{}; });
  EXPECT_THROW(diary.clock.run(), FromPython);
  diary.clock.schedule(at(2), Order::animal, [] { throw std::out_of_range("index"); });
  try {
    diary.clock.run();
    FAIL() << "no error";
  } catch (const InternalError& error) {
    EXPECT_STREQ(error.what(), "index (in a callback, day 0 00:00:02, order animal)");
  }
}

TEST(Stop, EndsTheInnermostLocalsFirstAndRunsNoMoreCode) {
  Diary diary;
  const auto outer = [](Diary& d) -> Process<> {
    const Farewell farewell(d, "outer");
    co_await sleep(d, 100_s);
    d.note("never");
  };
  const ProcessRef process = diary.clock.spawn(outer(diary));
  diary.clock.run_until(at(10));
  EXPECT_EQ(diary.clock.stop(process), Stop::stopped);
  EXPECT_EQ(diary.lines, (Lines{"sleeper gone@10", "outer gone@10"}));
  EXPECT_FALSE(diary.clock.alive(process));
  EXPECT_EQ(diary.clock.stop(process), Stop::over_already);
  diary.clock.run();
  EXPECT_EQ(diary.lines.size(), 2U);
  EXPECT_EQ(diary.clock.frames().live_frames(), 0U);
}

TEST(Stop, CannotBeCaught) {
  Diary diary;
  const auto stubborn = [](Diary& d) -> Process<> {
    try {
      co_await d.clock.delay(100_s);
    } catch (...) {
      d.note("caught");
    }
    d.note("went on");
  };
  const ProcessRef process = diary.clock.spawn(stubborn(diary));
  diary.clock.run_until(at(10));
  diary.clock.stop(process);
  diary.clock.run();
  EXPECT_EQ(diary.lines, Lines{});
}

TEST(Stop, WorksBeforeTheFirstStep) {
  Diary diary;
  const ProcessRef process = diary.clock.spawn(sleep(diary, 1_s));
  EXPECT_TRUE(diary.clock.alive(process));
  EXPECT_EQ(diary.clock.stop(process), Stop::stopped);
  diary.clock.run();
  EXPECT_EQ(diary.lines, Lines{});
  EXPECT_EQ(diary.clock.events_fired(), 0U);
}

TEST(Stop, CancelsAWakeUpThatIsOnItsWay) {
  Diary diary;
  Signal signal;
  const auto listener = [](Diary& d, Signal& s) -> Process<> {
    co_await s.wait();
    d.note("never");
  };
  const ProcessRef process = diary.clock.spawn(listener(diary, signal));
  diary.clock.run_until(at(10));
  signal.fire();
  diary.clock.stop(process);
  diary.clock.run();
  EXPECT_EQ(diary.lines, Lines{});
}

TEST(Stop, OfTheRunningProcessTakesEffectAtItsNextWait) {
  Diary diary;
  const auto suicidal = [](Diary& d) -> Process<> {
    const Farewell farewell(d, "local");
    d.note(d.clock.stop(d.clock.running()) == Stop::at_next_wait ? "deferred" : "not deferred");
    Milestone reached;
    reached.reach();
    co_await reached.wait();  // satisfied, but a wait all the same
    d.note("never");
  };
  const ProcessRef process = diary.clock.spawn(suicidal(diary), Order::animal, at(1));
  diary.clock.spawn(await_end(diary, process));
  diary.clock.run();
  EXPECT_EQ(diary.lines, (Lines{"deferred@1", "local gone@1", "stopped@1"}));
}

TEST(Stop, OfTheRunningProcessIsTooLateIfItEndsFirst) {
  Diary diary;
  const auto ends = [](Diary& d) -> Process<> {
    co_await d.clock.delay(1_s);
    d.clock.stop(d.clock.running());
  };
  const ProcessRef process = diary.clock.spawn(ends(diary));
  diary.clock.spawn(await_end(diary, process));
  diary.clock.run();
  EXPECT_EQ(diary.lines, Lines{"finished@1"});
}

TEST(Stop, FromADestructorMayHitEachOther) {
  /// Stops a process when it goes.
  struct Stopper {
    Simulation& clock;
    ProcessRef& target;
    Stopper(Simulation& c, ProcessRef& t) : clock{c}, target{t} {}
    ~Stopper() { clock.stop(target); }
  };
  Diary diary;
  std::array<ProcessRef, 2> both;
  const auto life = [](Diary& d, ProcessRef& other) -> Process<> {
    const Farewell farewell(d, "one");
    const Stopper stopper(d.clock, other);
    co_await d.clock.delay(100_s);
  };
  both[0] = diary.clock.spawn(life(diary, both[1]));
  both[1] = diary.clock.spawn(life(diary, both[0]));
  diary.clock.run_until(at(1));
  EXPECT_EQ(diary.clock.stop(both[0]), Stop::stopped);
  EXPECT_EQ(diary.lines, (Lines{"one gone@1", "one gone@1"}));
  EXPECT_EQ(diary.clock.frames().live_frames(), 0U);
}

TEST(Stop, DropsAWakeUpThatItsOwnDestructorsCause) {
  /// Fires a signal when it goes.
  struct Bell {
    Signal& signal;
    explicit Bell(Signal& s) : signal{s} {}
    ~Bell() { signal.fire(); }
  };
  Diary diary;
  Signal signal;
  Resource person{diary.clock, 1};
  const auto life = [](Diary& d, Resource& p, Signal& s) -> Process<> {
    const Bell bell(s);
    auto seat = co_await p.acquire();
    // Withdrawing one arm gives nobody a seat; giving back the seat afterwards grants one to no arm that still lives.
    const auto ending = co_await first_of(p.acquire(), s.wait(), p.acquire());
    d.note(std::to_string(ending.which()));
  };
  const ProcessRef process = diary.clock.spawn(life(diary, person, signal));
  diary.clock.run_until(at(1));
  diary.clock.stop(process);
  diary.clock.run();
  EXPECT_EQ(diary.lines, Lines{});
  EXPECT_EQ(person.in_use(), 0);
  EXPECT_EQ(person.waiting(), 0);
}

TEST(Children, SubProcessEndsWithItsParentASpawnedOneGoesOnAScopedOneDoesNot) {
  Diary diary;
  const auto noisy = [](Diary& d, std::string name) -> Process<> {
    const Farewell farewell(d, name);
    co_await d.clock.delay(100_s);
    d.note(name + " done");
  };
  const auto parent = [](Diary& d, auto child) -> Process<> {
    d.clock.spawn(child(d, "spawned"));
    const Scoped held(d.clock, child(d, "scoped"));
    co_await child(d, "sub");
  };
  const ProcessRef process = diary.clock.spawn(parent(diary, noisy));
  diary.clock.run_until(at(10));
  diary.clock.stop(process);
  diary.clock.run();
  EXPECT_EQ(diary.lines, (Lines{"sub gone@10", "scoped gone@10", "spawned done@100", "spawned gone@100"}));
}

TEST(Join, SeesHowAProcessEnds) {
  Diary diary;
  const ProcessRef finishes = diary.clock.spawn(sleep(diary, 5_s));
  const ProcessRef stopped = diary.clock.spawn(sleep(diary, 100_s));
  diary.clock.spawn(await_end(diary, finishes));
  diary.clock.spawn(await_end(diary, stopped));
  diary.clock.run_until(at(10));
  diary.clock.stop(stopped);
  diary.clock.spawn(await_end(diary, finishes));
  diary.clock.run_until(at(10));
  EXPECT_EQ(diary.lines,
            (Lines{"awake@5", "sleeper gone@5", "finished@5", "sleeper gone@10", "over already@10", "stopped@10"}));
}

TEST(Join, OfOneselfIsRefused) {
  Diary diary;
  const auto life = [](Diary& d) -> Process<> {
    const Ending never = co_await d.clock.join(d.clock.running());
    d.note(never == Ending::finished ? "a" : "b");
  };
  diary.clock.spawn(life(diary));
  EXPECT_THROW(diary.clock.run(), InternalError);
}

TEST(ProcessRef, IsHarmlessWhenItsRecordIsUsedAgain) {
  Diary diary;
  const ProcessRef old = diary.clock.spawn(sleep(diary, 1_s));
  diary.clock.run();
  const ProcessRef fresh = diary.clock.spawn(sleep(diary, 1_s));
  EXPECT_EQ(old.slot, fresh.slot);
  EXPECT_FALSE(diary.clock.alive(old));
  EXPECT_EQ(diary.clock.stop(old), Stop::over_already);
  EXPECT_TRUE(diary.clock.alive(fresh));
  EXPECT_FALSE(diary.clock.alive(ProcessRef{}));
}

TEST(Process, ThatNobodySpawnsOrAwaitsIsJustDropped) {
  Diary diary;
  { const auto unused = sleep(diary, 1_s); }
  diary.clock.run();
  EXPECT_EQ(diary.clock.events_fired(), 0U);
  EXPECT_EQ(diary.clock.frames().live_frames(), 0U);
}

TEST(Process, MayOutliveItsSimulationUnspawned) {
  std::optional<Process<>> orphan;
  {
    Diary diary;
    orphan = sleep(diary, 1_s);
  }
  orphan.reset();  // the frame pool went with its last frame; a sanitizer would say otherwise
}

TEST(Process, AwaitedOrSpawnedTwiceIsRefused) {
  Diary diary;
  const auto life = [](Diary& d) -> Process<> {
    auto number = double_later(d, 1);
    const int first = co_await number;
    const int second = co_await number;
    d.note(std::to_string(first + second));
  };
  diary.clock.spawn(life(diary));
  EXPECT_THROW(diary.clock.run(), InternalError);
  auto once = sleep(diary, 1_s);
  diary.clock.spawn(std::move(once));
  EXPECT_THROW(diary.clock.spawn(std::move(once)), InternalError);  // NOLINT(bugprone-use-after-move): the point
}

/// A world in which processes wait for everything there is to wait for.
Process<> hold_and_wait(Simulation& clock, Resource& resource, Signal& signal, Milestone& milestone) {
  auto seat = co_await resource.acquire(Rank{2});
  const auto first =
      co_await first_of(seat.serve(50_s), signal.wait(), milestone.wait(), resource.acquire(Rank{1}), clock.delay(1_h));
  co_await clock.delay(1_h);
}

void start(Simulation& clock, Resource& resource, Signal& signal, Milestone& milestone) {
  for (int i = 0; i < 5; ++i) clock.spawn(hold_and_wait(clock, resource, signal, milestone));
  clock.schedule(at(10), Order::animal, [] {});
  clock.run_until(at(10));
}

TEST(Destruction, SimulationMayGoFirst) {
  auto clock = std::make_unique<Simulation>();
  Signal signal;
  Milestone milestone;
  Resource resource{*clock, 2};
  start(*clock, resource, signal, milestone);
  clock.reset();
  EXPECT_EQ(resource.in_use(), 0);
  EXPECT_EQ(resource.waiting(), 0);
  signal.fire();  // nobody is left to hear it
  milestone.reach();
}

TEST(Destruction, SimulationMayGoLast) {
  Simulation clock;
  auto resource = std::make_unique<Resource>(clock, 2);
  auto signal = std::make_unique<Signal>();
  auto milestone = std::make_unique<Milestone>();
  start(clock, *resource, *signal, *milestone);
  EXPECT_EQ(resource->in_use(), 2);
  resource.reset();
  signal.reset();
  milestone.reset();
  clock.run_until(at(100));  // work under way is finished, for nobody
  EXPECT_GT(clock.frames().live_frames(), 0U);
}

TEST(Destruction, OfTheSimulationLetsNobodySpawn) {
  /// Spawns a process when it goes.
  struct Spawner {
    Simulation& clock;
    int& refused;
    Spawner(Simulation& c, int& r) : clock{c}, refused{r} {}
    ~Spawner() {
      const auto nothing = [](Simulation&) -> Process<> { co_return; };
      if (!clock.alive(clock.spawn(nothing(clock)))) ++refused;
    }
  };
  int refused = 0;
  {
    Simulation clock;
    const auto life = [](Simulation& c, int& r) -> Process<> {
      const Spawner spawner(c, r);
      co_await c.delay(100_s);
    };
    for (int i = 0; i < 20; ++i) clock.spawn(life(clock, refused));
    clock.run_until(at(1));
  }
  EXPECT_EQ(refused, 20);
}

TEST(Destruction, SeatOfADeadResourceIsEmpty) {
  Diary diary;
  auto resource = std::make_unique<Resource>(diary.clock, 1);
  const auto life = [](Diary& d, Resource& r) -> Process<> {
    auto seat = co_await r.acquire();
    d.note(seat ? "seated" : "empty");
    co_await d.clock.delay(10_s);
    d.note(seat ? "seated" : "empty");
  };
  diary.clock.spawn(life(diary, *resource));
  diary.clock.run_until(at(5));
  resource.reset();
  diary.clock.run();
  EXPECT_EQ(diary.lines, (Lines{"seated@0", "empty@10"}));
}

}  // namespace
}  // namespace farrowtide
