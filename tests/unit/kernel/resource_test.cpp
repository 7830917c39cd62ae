// Seats: who gets one, who loses it, and what a shift's end does, above all in the second where everything meets.
#include "libsim/kernel/resource.hpp"

#include <gtest/gtest.h>

#include <array>
#include <memory>
#include <string>
#include <utility>

#include "libsim/kernel/errors.hpp"
#include "libsim/kernel/first_of.hpp"
#include "libsim/kernel/signal.hpp"
#include "tests/unit/kernel/diary.hpp"

namespace farrowtide {
namespace {

using testing::at;
using testing::Diary;
using testing::Lines;

struct Job {
  std::string name;
  std::int64_t begin_s = 0;
  std::int64_t work_s = 0;
  Rank rank{};
  Preempt preempt = Preempt::no;

  Job(std::string n, std::int64_t begin, std::int64_t work, int urgency = 0, Preempt p = Preempt::no)
      : name{std::move(n)}, begin_s{begin}, work_s{work}, rank{urgency}, preempt{p} {}
};

struct Barn : Diary {
  Resource staff;

  explicit Barn(int people) : staff{clock, people} {}

  void set_capacity(std::int64_t second, int people, ShiftEnd at_end) {
    clock.schedule(at(second), Order::environment, [this, people, at_end] { staff.set_capacity(people, at_end); });
  }
};

/// Works off one job and notes "name@end xN", N being the interruptions.
Process<> work(Barn& barn, Job job) {
  auto seat = co_await barn.staff.acquire(job.rank, job.preempt);
  co_await seat.serve(Duration{job.work_s});
  barn.note(job.name + " x" + std::to_string(seat.interruptions()));
}

Lines outcome(Barn& barn, std::initializer_list<Job> jobs) {
  for (const Job& job : jobs) barn.clock.spawn(work(barn, job), Order::task, at(job.begin_s));
  barn.clock.run();
  EXPECT_EQ(barn.staff.in_use(), 0);
  EXPECT_EQ(barn.staff.waiting(), 0);
  EXPECT_EQ(barn.clock.frames().live_frames(), 0U);
  return barn.lines;
}

TEST(Queue, ServesByRankThenArrival) {
  Barn barn{1};
  EXPECT_EQ(outcome(barn, {{"first", 0, 100}, {"b2", 1, 10, 2}, {"a2", 2, 10, 2}, {"urgent", 3, 10, 1}}),
            (Lines{"first x0@100", "urgent x0@110", "b2 x0@120", "a2 x0@130"}));
}

TEST(Queue, FreeSeatIsTakenWithoutAnEvent) {
  Barn barn{1};
  EXPECT_EQ(outcome(barn, {{"only", 0, 100}}), Lines{"only x0@100"});
  EXPECT_EQ(barn.clock.events_fired(), 2U);  // first step, end of work
}

// The seat is assigned when it is given back: a request later in that second cannot slip in before its holder runs.
TEST(Queue, LaterRequestOfTheSameSecondCannotStealAnAssignedSeat) {
  Barn barn{1};
  const auto thief = [](Barn& b) -> Process<> {
    auto mine = co_await b.staff.acquire();
    co_await b.clock.delay(100_s, Order::environment);
    mine.release();
    b.note("in use " + std::to_string(b.staff.in_use()));
    mine = co_await b.staff.acquire();
    b.note("again");
  };
  barn.clock.spawn(thief(barn));
  EXPECT_EQ(outcome(barn, {{"queued", 1, 10}}), (Lines{"in use 1@100", "queued x0@110", "again@110"}));
}

TEST(Queue, WithdrawnRequestLetsTheNextOneGoFirst) {
  Barn barn{1};
  const auto waiter = [](Barn& b) -> Process<> {
    const auto seat = co_await b.staff.acquire();
    b.note("never");
  };
  const ProcessRef process = barn.clock.spawn(waiter(barn), Order::task, at(1));
  barn.clock.schedule(at(50), Order::animal, [&] { barn.clock.stop(process); });
  EXPECT_EQ(outcome(barn, {{"first", 0, 100}, {"next", 2, 10}}), (Lines{"first x0@100", "next x0@110"}));
}

TEST(Preemption, TakesFromTheWorstRankAndAmongEqualsFromTheLatestArrival) {
  Barn barn{3};
  EXPECT_EQ(outcome(barn, {{"middle", 0, 100, 5},
                           {"worst early", 0, 100, 9},
                           {"worst late", 1, 100, 9},
                           {"urgent", 50, 20, 1, Preempt::yes}}),
            (Lines{"urgent x0@70", "middle x0@100", "worst early x0@100", "worst late x1@121"}));
}

TEST(Preemption, DoesNotHitEqualRankNorUseForceWhileASeatIsFree) {
  Barn equal{1};
  EXPECT_EQ(outcome(equal, {{"holder", 0, 100, 1}, {"equal", 50, 10, 1, Preempt::yes}}),
            (Lines{"holder x0@100", "equal x0@110"}));
  Barn roomy{2};
  EXPECT_EQ(outcome(roomy, {{"holder", 0, 100, 5}, {"urgent", 50, 10, 1, Preempt::yes}}),
            (Lines{"urgent x0@60", "holder x0@100"}));
}

TEST(Preemption, NeedsToBeFirstInTheQueue) {
  Barn barn{1};
  EXPECT_EQ(outcome(barn, {{"holder", 0, 100, 5}, {"polite", 10, 10, 1}, {"pushy", 20, 10, 2, Preempt::yes}}),
            (Lines{"holder x0@100", "polite x0@110", "pushy x0@120"}));
}

TEST(Preemption, ByOneWhoBecomesFirstLaterHappensThen) {
  Barn barn{1};
  const auto gives_up = [](Barn& b) -> Process<> {
    const auto seat = co_await b.staff.acquire_within(40_s, Rank{1});
    b.note(seat ? "seat" : "gave up");
  };
  barn.clock.spawn(gives_up(barn), Order::task, at(10));
  EXPECT_EQ(outcome(barn, {{"holder", 0, 100, 5}, {"pushy", 20, 10, 2, Preempt::yes}}),
            (Lines{"gave up@50", "pushy x0@60", "holder x1@110"}));
}

TEST(Preemption, PushedOutWorkGoesOnWhereItStoppedAheadOfLaterArrivals) {
  Barn barn{1};
  EXPECT_EQ(outcome(barn, {{"low", 0, 100, 5},
                           {"later", 10, 10, 5},
                           {"urgent", 50, 20, 1, Preempt::yes},
                           {"urgent again", 80, 20, 1, Preempt::yes}}),
            (Lines{"urgent x0@70", "urgent again x0@100", "low x2@140", "later x0@150"}));
}

// The job that ends in the second of the urgent request is done; the request waits zero seconds.
TEST(Preemption, InTheSecondInWhichWorkEndsLeavesItDone) {
  for (const auto order : {Order::environment, Order::animal, Order::task}) {
    Barn barn{1};
    barn.clock.spawn(work(barn, {"urgent", 0, 50, 1, Preempt::yes}), order, at(100));
    EXPECT_EQ(outcome(barn, {{"low", 0, 100, 5}}), (Lines{"low x0@100", "urgent x0@150"})) << to_string(order);
  }
}

TEST(Preemption, SparesAHolderThatIsNotServingUntilItServes) {
  Barn barn{1};
  const auto washer = [](Barn& b) -> Process<> {
    auto seat = co_await b.staff.acquire(Rank{5});
    co_await b.clock.delay(100_s);  // holds the seat, and is in the middle of its own code
    b.note("washer begins");
    co_await seat.serve(100_s);
    b.note("washer x" + std::to_string(seat.interruptions()));
  };
  barn.clock.spawn(washer(barn));
  EXPECT_EQ(outcome(barn, {{"urgent", 50, 30, 1, Preempt::yes}}),
            (Lines{"washer begins@100", "urgent x0@130", "washer x1@230"}));
}

// 150 s of work from second 0, the shift ends at 100, the next begins at 1100.
TEST(ShiftEnd, DecidesWhetherWorkUnderWayIsFinished) {
  const auto shifts = [](ShiftEnd rule) {
    Barn barn{1};
    barn.set_capacity(100, 0, rule);
    barn.set_capacity(1100, 1, rule);
    return outcome(barn, {{"long", 0, 150}, {"queued", 50, 10}});
  };
  EXPECT_EQ(shifts(ShiftEnd::finish_task), (Lines{"long x0@150", "queued x0@1110"}));
  EXPECT_EQ(shifts(ShiftEnd::hand_over), (Lines{"long x1@1150", "queued x0@1160"}));
}

TEST(ShiftEnd, InTheSecondInWhichWorkEndsLeavesItDone) {
  for (const auto rule : {ShiftEnd::finish_task, ShiftEnd::hand_over}) {
    Barn barn{1};
    barn.set_capacity(100, 0, rule);
    barn.set_capacity(1100, 1, rule);
    EXPECT_EQ(outcome(barn, {{"job", 0, 100}, {"queued", 1, 10}}), (Lines{"job x0@100", "queued x0@1110"}));
  }
}

TEST(ShiftEnd, FinishTaskSeatsNobodyNewAndLetsNobodyPreempt) {
  Barn barn{2};
  barn.set_capacity(100, 1, ShiftEnd::finish_task);
  barn.clock.schedule(at(101), Order::record, [&] { barn.note("in use " + std::to_string(barn.staff.in_use())); });
  EXPECT_EQ(outcome(barn, {{"a", 0, 150, 5}, {"b", 0, 200, 5}, {"urgent", 120, 10, 1, Preempt::yes}}),
            (Lines{"in use 2@101", "a x0@150", "urgent x0@160", "b x1@210"}));
}

TEST(ShiftEnd, HandOverPushesOutTheWorstRankThenTheLatestUntilTheRestFits) {
  Barn barn{3};
  barn.set_capacity(100, 1, ShiftEnd::hand_over);
  EXPECT_EQ(outcome(barn, {{"late", 2, 200, 3}, {"early", 1, 200, 3}, {"worst", 0, 200, 9}}),
            (Lines{"early x0@201", "late x1@303", "worst x1@403"}));
}

TEST(ShiftEnd, HandOverReachesAHolderWhenItBeginsToServe) {
  Barn barn{1};
  barn.set_capacity(50, 0, ShiftEnd::hand_over);
  barn.set_capacity(1000, 1, ShiftEnd::hand_over);
  const auto slow = [](Barn& b) -> Process<> {
    auto seat = co_await b.staff.acquire();
    co_await b.clock.delay(100_s);
    b.note("begins, in use " + std::to_string(b.staff.in_use()));
    co_await seat.serve(10_s);
    b.note("done x" + std::to_string(seat.interruptions()));
  };
  barn.clock.spawn(slow(barn));
  EXPECT_EQ(outcome(barn, {}), (Lines{"begins, in use 1@100", "done x1@1010"}));
}

TEST(Serve, OfNoWorkLetsEverythingDueGoFirstAndIsNeverPushedOut) {
  Barn barn{1};
  barn.set_capacity(0, 0, ShiftEnd::hand_over);
  const auto brief = [](Barn& b) -> Process<> {
    auto seat = co_await b.staff.acquire();
    co_await b.clock.delay(0_s);
    co_await seat.serve(0_s);
    b.note("brief x" + std::to_string(seat.interruptions()));
  };
  barn.clock.spawn(brief(barn), Order::environment);
  barn.set_capacity(0, 0, ShiftEnd::hand_over);
  barn.set_capacity(10, 1, ShiftEnd::hand_over);
  EXPECT_EQ(outcome(barn, {}), Lines{"brief x0@10"});
}

TEST(Serve, WithdrawnWhilePushedOutLeavesTheSeatEmpty) {
  Barn barn{1};
  Milestone died;
  const auto life = [](Barn& b, Milestone& d) -> Process<> {
    auto seat = co_await b.staff.acquire(Rank{5});
    const auto ending = co_await first_of(seat.serve(100_s), d.wait());
    b.note("arm " + std::to_string(ending.which()) + (seat ? " seated" : " empty"));
  };
  barn.clock.spawn(life(barn, died));
  barn.clock.schedule(at(60), Order::animal, [&] { died.reach(); });
  EXPECT_EQ(outcome(barn, {{"urgent", 50, 20, 1, Preempt::yes}}), (Lines{"arm 1 empty@60", "urgent x0@70"}));
}

TEST(Serve, WithdrawnWhileServingKeepsTheSeat) {
  Barn barn{1};
  Milestone died;
  const auto life = [](Barn& b, Milestone& d) -> Process<> {
    auto seat = co_await b.staff.acquire();
    const auto ending = co_await first_of(seat.serve(100_s), d.wait());
    b.note("arm " + std::to_string(ending.which()) + (seat ? " seated" : " empty"));
    co_await seat.serve(5_s);
    b.note("tidied up");
  };
  barn.clock.spawn(life(barn, died));
  barn.clock.schedule(at(60), Order::animal, [&] { died.reach(); });
  EXPECT_EQ(outcome(barn, {}), (Lines{"arm 1 seated@60", "tidied up@65"}));
}

TEST(Serve, RefusesMisuse) {
  const auto error_of = [](auto life) {
    Barn barn{1};
    barn.clock.spawn(life(barn));
    EXPECT_THROW(barn.clock.run(), std::exception);
    try {
      barn.clock.spawn(life(barn));
      barn.clock.run();
    } catch (const UserError&) {
      return "user";
    } catch (const InternalError&) {
      return "internal";
    }
    return "none";
  };
  EXPECT_STREQ(error_of([](Barn&) -> Process<> {
                 Seat empty;
                 co_await empty.serve(1_s);
               }),
               "internal");
  EXPECT_STREQ(error_of([](Barn& b) -> Process<> {
                 auto seat = co_await b.staff.acquire();
                 co_await seat.serve(-1_s);
               }),
               "user");
  EXPECT_STREQ(error_of([](Barn& b) -> Process<> {
                 auto seat = co_await b.staff.acquire();
                 const auto both = co_await first_of(seat.serve(1_s), seat.serve(2_s));
                 b.note(std::to_string(both.which()));
               }),
               "internal");
}

TEST(Served, CountsEachPartOfTheWorkOnceWhenItStops) {
  Barn barn{1};
  Milestone died;
  const auto life = [](Barn& b, Milestone& d) -> Process<> {
    auto seat = co_await b.staff.acquire(Rank{5});
    const auto ending = co_await first_of(seat.serve(100_s), d.wait());
    co_await b.clock.delay(10_s);  // holds the seat and does nothing
    b.note("arm " + std::to_string(ending.which()));
  };
  const auto served_at = [&](std::int64_t second) {
    barn.clock.schedule(at(second), Order::record,
                        [&barn] { barn.note("served " + std::to_string(barn.staff.served().seconds())); });
  };
  barn.clock.spawn(life(barn, died));
  barn.clock.schedule(at(60), Order::animal, [&] { died.reach(); });
  for (const std::int64_t second : {29, 30, 40, 60}) served_at(second);
  // 30 s until pushed out, 7 s by the one who pushed, 23 s until withdrawn.
  EXPECT_EQ(outcome(barn, {{"urgent", 30, 7, 1, Preempt::yes}}),
            (Lines{"served 0@29", "served 30@30", "urgent x0@37", "served 37@40", "served 60@60", "arm 1@70"}));
}

TEST(Served, CountsTheWorkOfAStoppedProcessAndOfASeatGivenBackUnderIt) {
  Barn barn{2};
  std::array<Seat, 2> seats;
  const auto life = [](Barn& b, Seat& seat) -> Process<> {
    seat = co_await b.staff.acquire();
    co_await seat.serve(100_s);
  };
  const ProcessRef stopped = barn.clock.spawn(life(barn, seats[0]));
  barn.clock.spawn(life(barn, seats[1]));
  barn.clock.run_until(at(20));
  barn.clock.stop(stopped);
  EXPECT_EQ(barn.staff.served(), 20_s);
  barn.clock.run_until(at(30));
  seats[1].release();
  EXPECT_EQ(barn.staff.served(), 50_s);
  barn.clock.run();
  EXPECT_EQ(barn.staff.served(), 50_s);
}

struct Heard : ServiceObserver {
  Lines stretches;
  Duration sum;

  void served(int label, Time begin, Time end) noexcept override {
    const auto second = [](Time time) { return std::to_string(time.since_start().seconds()); };
    stretches.push_back(std::to_string(label) + ": " + second(begin) + "-" + second(end));
    sum += end - begin;
  }
};

Process<> labelled(Barn& barn, int label, Duration work, Preempt preempt = Preempt::no) {
  auto seat = co_await barn.staff.acquire_within(1000_s, Rank{label}, preempt, label);
  co_await seat.serve(work);
}

// 5 is pushed out by 1 at 30, by the shift's end at 50, and withdrawn at 1020; 9 does nothing for no time.
TEST(Observer, HearsEveryStretchWithItsLabelWhenItStops) {
  Heard heard;
  Barn barn{1};
  barn.staff.observe(&heard);
  const ProcessRef routine = barn.clock.spawn(labelled(barn, 5, 100_s));
  barn.clock.spawn(labelled(barn, 1, 7_s, Preempt::yes), Order::task, at(30));
  barn.set_capacity(50, 0, ShiftEnd::hand_over);
  barn.set_capacity(1000, 1, ShiftEnd::hand_over);
  barn.clock.spawn(labelled(barn, 9, 0_s), Order::task, at(990));
  barn.clock.schedule(at(1020), Order::animal, [&] { barn.clock.stop(routine); });
  barn.clock.run();
  EXPECT_EQ(heard.stretches, (Lines{"5: 0-30", "1: 30-37", "5: 37-50", "5: 1000-1020"}));
  EXPECT_EQ(heard.sum, 70_s);
  EXPECT_EQ(heard.sum, barn.staff.served());
}

TEST(Observer, HearsTheLabelOfASeatThatMoved) {
  Heard heard;
  Barn barn{1};
  barn.staff.observe(&heard);
  const auto life = [](Barn& b) -> Process<> {
    auto first = co_await b.staff.acquire(Rank{}, Preempt::no, 3);
    Seat kept = std::move(first);
    co_await kept.serve(10_s);
    b.staff.observe(nullptr);
    co_await kept.serve(10_s);
  };
  barn.clock.spawn(life(barn));
  barn.clock.run();
  EXPECT_EQ(heard.stretches, Lines{"3: 0-10"});
  EXPECT_EQ(barn.staff.served(), 20_s);
}

TEST(Resource, RefusesNegativeCapacity) {
  Simulation clock;
  EXPECT_THROW(Resource(clock, -1), UserError);
  Resource resource{clock, 1};
  EXPECT_THROW(resource.set_capacity(-1, ShiftEnd::hand_over), UserError);
}

TEST(Seat, MovesWithoutBeingGivenBackAndAssignmentGivesBackTheOldOne) {
  Barn barn{2};
  const auto life = [](Barn& b) -> Process<> {
    auto first = co_await b.staff.acquire();
    Seat kept = std::move(first);
    auto second = co_await b.staff.acquire();
    b.note("in use " + std::to_string(b.staff.in_use()));
    kept = std::move(second);
    b.note("in use " + std::to_string(b.staff.in_use()));
    kept.release();
    kept.release();
    b.note(std::string(kept ? "seated" : "empty") + ", in use " + std::to_string(b.staff.in_use()));
  };
  barn.clock.spawn(life(barn));
  EXPECT_EQ(outcome(barn, {}), (Lines{"in use 2@0", "in use 1@0", "empty, in use 0@0"}));
}

TEST(Seat, MovedWhileItServesIsServedOnWhereItWent) {
  Barn barn{1};
  struct {
    Seat before, after;
  } seats;
  const auto life = [](Barn& b, Seat& before, Seat& after) -> Process<> {
    before = co_await b.staff.acquire(Rank{5});
    co_await before.serve(100_s);
    co_await after.serve(10_s);
    b.note(std::string(before ? "seated" : "empty") + " x" + std::to_string(after.interruptions()));
    after.release();
  };
  barn.clock.spawn(life(barn, seats.before, seats.after));
  barn.clock.schedule(at(20), Order::animal, [&] { seats.after = std::move(seats.before); });
  EXPECT_EQ(outcome(barn, {{"urgent", 30, 7, 1, Preempt::yes}}), (Lines{"urgent x0@37", "empty x1@117"}));
  EXPECT_EQ(barn.staff.served(), 117_s);
}

}  // namespace
}  // namespace farrowtide
