// Random worlds: processes that do everything there is to do, to each other, all at once and mostly in the same
// seconds. Whatever they do, some things must always hold.
#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <memory>
#include <vector>

#include "libsim/kernel/errors.hpp"
#include "libsim/kernel/first_of.hpp"
#include "libsim/kernel/random.hpp"
#include "libsim/kernel/resource.hpp"
#include "libsim/kernel/signal.hpp"
#include "libsim/kernel/simulation.hpp"

namespace farrowtide {
namespace {

enum class GoesFirst { simulation, resources };

class World {
 public:
  explicit World(std::uint32_t replicate) : stream_{StreamKey{17, replicate, 0, 0}} {
    for (int i = 0; i < 3; ++i) {
      signals.push_back(std::make_unique<Signal>());
      staffs.push_back(std::make_unique<Resource>(*clock, draw(3)));
    }
  }

  int draw(int n) { return static_cast<int>(stream_() % static_cast<std::uint32_t>(n)); }

  Simulation& simulation() { return *clock; }

  /// Adds to the trace, which must be the same for every compiler and every event list.
  void note(std::uint64_t what) {
    EXPECT_GE(clock->now(), last_);
    last_ = clock->now();
    for (const std::uint64_t word : {what, static_cast<std::uint64_t>(last_.since_start().seconds())}) {
      hash = (hash ^ word) * 0x100000001b3U;
    }
    check();
  }

  void check() const {
    for (const auto& staff : staffs) {
      ASSERT_GE(staff->in_use(), 0);
      ASSERT_GE(staff->waiting(), 0);
      ASSERT_TRUE(staff->waiting() == 0 || staff->in_use() >= staff->capacity()) << "an idle seat while someone waits";
    }
  }

  Signal farewell;  // fired by destructors: outlives the processes
  std::unique_ptr<Simulation> clock = std::make_unique<Simulation>();
  std::vector<std::unique_ptr<Signal>> signals;
  std::vector<std::unique_ptr<Resource>> staffs;
  std::vector<ProcessRef> processes;
  int locals = 0;
  int spawned = 0;
  std::uint64_t hash = 0xcbf29ce484222325U;

 private:
  Stream stream_;
  Time last_;
};

/// Counts the locals that are alive; firing a signal when it goes, as a destructor may.
class Local {
 public:
  Local(World& world, Signal* farewell) : world_{world}, farewell_{farewell} { ++world_.locals; }
  ~Local() {
    --world_.locals;
    if (farewell_ != nullptr) farewell_->fire();
  }
  Local(const Local&) = delete;
  Local& operator=(const Local&) = delete;

 private:
  World& world_;
  Signal* farewell_;
};

Process<> live(World& world, int generation);

Process<int> nested(World& world, int depth) {
  const Local local(world, nullptr);
  const int wait = world.draw(4);
  co_await world.clock->delay(Duration{wait});
  if (world.draw(6) == 0) throw UserError("bad day");
  int deepest = depth;
  if (depth < 3) deepest = co_await nested(world, depth + 1);
  co_return deepest;
}

Process<> try_nested(World& world) {
  int depth = -1;
  try {
    depth = co_await nested(world, 0);
  } catch (const UserError&) {
    depth = 100;
  }
  world.note(static_cast<std::uint64_t>(depth));
}

Process<> work(World& world) {
  Resource& staff = *world.staffs[static_cast<std::size_t>(world.draw(3))];
  const Rank rank{world.draw(3)};
  const auto preempt = world.draw(2) == 0 ? Preempt::no : Preempt::yes;
  const Duration length{world.draw(12)};
  auto seat = co_await staff.acquire(rank, preempt);
  if (world.draw(4) == 0) co_await world.clock->delay(2_s);  // holds without serving
  Seat moved = std::move(seat);
  co_await moved.serve(length);
  world.note(static_cast<std::uint64_t>(moved.interruptions()));
}

Process<> impatient(World& world) {
  Resource& one = *world.staffs[static_cast<std::size_t>(world.draw(3))];
  Resource& other = *world.staffs[static_cast<std::size_t>(world.draw(3))];
  Signal& signal = *world.signals[static_cast<std::size_t>(world.draw(3))];
  const Duration patience{world.draw(8)};
  const Rank rank{world.draw(3)};
  auto first = co_await first_of(one.acquire(rank, Preempt::yes), signal.wait(), other.acquire(rank),
                                 world.clock->delay(patience, Order::decision));
  world.note(first.which());
  if (first.which() != 0) co_return;
  Seat seat = first.take<0>();
  const auto ending = co_await first_of(seat.serve(5_s), signal.wait());
  world.note(ending.which() + (seat ? 10U : 20U));
}

Process<> listen(World& world) {
  Signal& signal = *world.signals[static_cast<std::size_t>(world.draw(3))];
  const auto first = co_await first_of(signal.wait(), world.farewell.wait(), world.clock->delay(6_s));
  world.note(first.which());
}

Process<> raise_child(World& world, int generation) {
  const Scoped child(*world.clock, live(world, generation + 1), static_cast<Order>(world.draw(5)));
  const auto first = co_await first_of(world.clock->join(child.process()), world.clock->delay(9_s));
  world.note(first.which());
}

void spawn(World& world, int generation) {
  if (++world.spawned > 60) return;
  const auto home = static_cast<Order>(world.draw(5));
  world.processes.push_back(world.clock->spawn(live(world, generation), home));
}

Process<> live(World& world, int generation) {
  const Local local(world, world.draw(3) == 0 ? &world.farewell : nullptr);
  for (int step = 0; step < 6; ++step) {
    const int wait = world.draw(5);
    co_await world.clock->delay(Duration{wait});
    const auto some = static_cast<std::size_t>(world.draw(3));
    const int choice = world.draw(10);
    switch (choice) {
      case 0:
        co_await try_nested(world);
        break;
      case 1:
      case 2:
        co_await work(world);
        break;
      case 3:
        co_await impatient(world);
        break;
      case 4:
        co_await listen(world);
        break;
      case 5:
        world.signals[some]->fire();
        break;
      case 6:
        if (generation < 3) co_await raise_child(world, generation);
        break;
      case 7: {
        const auto rule = world.draw(2) == 0 ? ShiftEnd::finish_task : ShiftEnd::hand_over;
        world.staffs[some]->set_capacity(world.draw(4), rule);
        break;
      }
      case 8:
        spawn(world, generation);
        break;
      default: {
        if (world.processes.empty()) break;
        const auto whom = static_cast<std::size_t>(world.draw(static_cast<int>(world.processes.size())));
        const Stop stopped = world.clock->stop(world.processes[whom]);
        world.note(static_cast<std::uint64_t>(stopped));
      }
    }
    world.note(static_cast<std::uint64_t>(choice));
  }
}

/// Lets one world live; it dies in the middle of its life if `until` says so.
std::uint64_t run_world(std::uint32_t replicate, Duration until, GoesFirst first) {
  World world{replicate};
  for (int i = 0; i < 12; ++i) spawn(world, 0);
  world.clock->run_until(Time{until});
  const std::uint64_t hash = world.hash ^ world.clock->events_fired();
  if (first == GoesFirst::resources) {
    world.staffs.clear();
    world.signals.clear();
  }
  if (first == GoesFirst::simulation) {
    world.clock.reset();
    for (const auto& staff : world.staffs) {
      EXPECT_EQ(staff->in_use(), 0);
      EXPECT_EQ(staff->waiting(), 0);
    }
  }
  world.clock.reset();
  EXPECT_EQ(world.locals, 0);
  return hash;
}

TEST(RandomWorlds, KeepTheirInvariantsAndTheirTrace) {
  std::uint64_t hash = 0;
  for (std::uint32_t replicate = 0; replicate < 1000 && !::testing::Test::HasFailure(); ++replicate) {
    const Duration until{replicate % 4 == 0 ? 10 : 40};
    const auto first = replicate % 2 == 0 ? GoesFirst::simulation : GoesFirst::resources;
    hash = hash * 31 + run_world(replicate, until, first);
  }
  // Determinism: the same on every compiler, optimisation level and event list. A change of the rules of ties moves it.
  EXPECT_EQ(hash, 15449560904165025514U);
}

TEST(RandomWorlds, EndEmpty) {
  for (std::uint32_t replicate = 0; replicate < 300; ++replicate) {
    World world{replicate};
    for (int i = 0; i < 12; ++i) spawn(world, 0);
    for (int round = 0; round < 100; ++round) {
      world.clock->run();  // until some wait for seats that nobody offers
      for (const auto& staff : world.staffs) staff->set_capacity(5, ShiftEnd::hand_over);
    }
    EXPECT_EQ(world.clock->frames().live_frames(), 0U);
    EXPECT_EQ(world.locals, 0);
    for (const auto& staff : world.staffs) {
      EXPECT_EQ(staff->in_use(), 0);
      EXPECT_EQ(staff->waiting(), 0);
    }
  }
}

/// A staff under random shifts, urgent jobs, impatient jobs and stops; everyone serves as soon as seated.
class Shop {
 public:
  explicit Shop(std::uint32_t replicate) : stream_{StreamKey{18, replicate, 0, 0}} {}

  int draw(int n) { return static_cast<int>(stream_() % static_cast<std::uint32_t>(n)); }
  Simulation& simulation() { return clock; }

  Simulation clock;
  Resource staff{clock, 2};
  ShiftEnd rule = ShiftEnd::finish_task;
  Duration worked;                             // by jobs that were done
  std::map<Rank, std::map<int, Time>> seated;  // by rank, and by number in the order in which they asked

 private:
  Stream stream_;
};

Process<> do_job(Shop& shop) {
  const Rank rank{shop.draw(3)};
  const auto preempt = shop.draw(2) == 0 ? Preempt::no : Preempt::yes;
  const Duration length{shop.draw(15)};
  const Duration patience{shop.draw(3) == 0 ? 5 : 10000};
  auto seat = co_await shop.staff.acquire_within(patience, rank, preempt);
  if (!seat) co_return;
  const Time begin = shop.clock.now();
  co_await seat.serve(length);
  shop.worked += length;
  const Duration took = shop.clock.now() - begin;
  EXPECT_TRUE(seat.interruptions() == 0 ? took == length : took >= length);
}

/// Jobs every other second and a shift change now and then.
Process<> arrivals(Shop& shop) {
  for (int job = 0; job < 100; ++job) {
    const int wait = shop.draw(4);
    co_await shop.clock.delay(Duration{wait});
    shop.clock.spawn(do_job(shop), static_cast<Order>(shop.draw(5)));
    if (shop.draw(5) != 0) continue;
    shop.rule = shop.draw(2) == 0 ? ShiftEnd::finish_task : ShiftEnd::hand_over;
    shop.staff.set_capacity(shop.draw(4), shop.rule);
  }
  shop.staff.set_capacity(2, ShiftEnd::hand_over);
}

void check_every_second(Shop& shop, int seconds) {
  for (int second = 0; second < seconds; ++second) {
    shop.clock.schedule(Time{Duration{second}}, Order::record, [&shop] {
      EXPECT_TRUE(shop.rule == ShiftEnd::finish_task || shop.staff.in_use() <= shop.staff.capacity());
      EXPECT_TRUE(shop.staff.waiting() == 0 || shop.staff.in_use() >= shop.staff.capacity());
    });
  }
}

TEST(RandomShops, ConserveWorkAndKeepToTheirCapacity) {
  int busy = 0;
  for (std::uint32_t replicate = 0; replicate < 200; ++replicate) {
    Shop shop{replicate};
    check_every_second(shop, 600);
    shop.clock.spawn(arrivals(shop), Order::environment);
    shop.clock.run();
    EXPECT_EQ(shop.staff.served(), shop.worked) << replicate;
    EXPECT_EQ(shop.staff.in_use(), 0);
    EXPECT_EQ(shop.staff.waiting(), 0);
    EXPECT_EQ(shop.clock.frames().live_frames(), 0U);
    busy += shop.worked > 300_s ? 1 : 0;
  }
  EXPECT_GT(busy, 150);  // else the shops prove little
}

/// Asks, and notes when it was first seated. Within a second a seat found free is taken without an event, and so noted
/// before one that was given at a wake-up still to come: the second is what can be compared.
Process<> ask_in_order(Shop& shop, int number) {
  const Rank rank{shop.draw(3)};
  const auto preempt = shop.draw(2) == 0 ? Preempt::no : Preempt::yes;
  const Duration length{1 + shop.draw(10)};
  auto seat = co_await shop.staff.acquire(rank, preempt);
  shop.seated[rank][number] = shop.clock.now();
  co_await seat.serve(length);
}

TEST(RandomShops, SeatEqualsInTheOrderInWhichTheyAsked) {
  for (std::uint32_t replicate = 0; replicate < 200; ++replicate) {
    Shop shop{replicate};
    const auto ask = [](Shop& s) -> Process<> {
      for (int number = 0; number < 60; ++number) {
        const int wait = s.draw(5);
        co_await s.clock.delay(Duration{wait});
        s.clock.spawn(ask_in_order(s, number));
        if (number % 7 == 0) s.staff.set_capacity(s.draw(4), ShiftEnd::hand_over);
      }
      s.staff.set_capacity(2, ShiftEnd::hand_over);
    };
    shop.clock.spawn(ask(shop), Order::environment);
    shop.clock.run();
    for (const auto& [rank, jobs] : shop.seated) {
      const auto earlier = [](const auto& one, const auto& other) { return one.second < other.second; };
      EXPECT_TRUE(std::is_sorted(jobs.begin(), jobs.end(), earlier)) << "rank " << rank.value << " in " << replicate;
    }
  }
}

}  // namespace
}  // namespace farrowtide
