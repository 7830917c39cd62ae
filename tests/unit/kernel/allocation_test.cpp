// In steady state the kernel allocates nothing: the second of two identical runs of work must not call operator new.
#include <gtest/gtest.h>

#include <atomic>
#include <cstdlib>
#include <functional>
#include <new>
#include <string>

#include "libsim/kernel/first_of.hpp"
#include "libsim/kernel/resource.hpp"
#include "libsim/kernel/signal.hpp"
#include "libsim/kernel/simulation.hpp"

namespace {

std::atomic<std::size_t> allocations{0};

void* counted(std::size_t size, std::size_t alignment) {
  ++allocations;
  const std::size_t whole = (size + alignment - 1) / alignment * alignment;
  void* memory = alignment > alignof(std::max_align_t) ? std::aligned_alloc(alignment, whole) : std::malloc(whole);
  if (memory == nullptr) throw std::bad_alloc{};
  return memory;
}

}  // namespace

#if defined(__GNUC__) && !defined(__clang__)
// g++ 12 takes the operators below for a mismatched pair when it inlines only one of them.
#pragma GCC diagnostic ignored "-Wmismatched-new-delete"
#endif

void* operator new(std::size_t size) { return counted(size, 1); }
void* operator new(std::size_t size, std::align_val_t a) { return counted(size, static_cast<std::size_t>(a)); }
void operator delete(void* memory) noexcept { std::free(memory); }
void operator delete(void* memory, std::size_t) noexcept { std::free(memory); }
void operator delete(void* memory, std::align_val_t) noexcept { std::free(memory); }
void operator delete(void* memory, std::size_t, std::align_val_t) noexcept { std::free(memory); }

namespace farrowtide {
namespace {

struct Yard {
  Simulation clock;
  Signal bell;
  Resource staff{clock, 1};
  int callbacks = 0;

  Simulation& simulation() { return clock; }
};

constexpr int rounds = 200;

Process<> wait_often(Yard& yard) {
  for (int i = 0; i < rounds; ++i) co_await yard.clock.delay(1_s);
}

Process<int> sub(Yard& yard, int n) {
  co_await yard.clock.delay(1_s);
  co_return n;
}

Process<> call_often(Yard& yard) {
  for (int i = 0; i < rounds; ++i) co_await sub(yard, i);
}

Process<> spawn_and_join(Yard& yard) {
  for (int i = 0; i < rounds; ++i) {
    const ProcessRef child = yard.clock.spawn(wait_often(yard));
    co_await yard.clock.join(child);
  }
}

Process<> serve_often(Yard& yard) {
  for (int i = 0; i < rounds; ++i) {
    auto seat = co_await yard.staff.acquire(Rank{5});
    co_await seat.serve(10_s);
  }
}

Process<> interrupt_often(Yard& yard) {
  for (int i = 0; i < rounds; ++i) {
    co_await yard.clock.delay(7_s);
    auto seat = co_await yard.staff.acquire(Rank{1}, Preempt::yes);
    co_await seat.serve(2_s);
  }
}

Process<> give_up_often(Yard& yard) {
  for (int i = 0; i < rounds; ++i) {
    const auto seat = co_await yard.staff.acquire_within(3_s, Rank{3});
    const auto first = co_await first_of(yard.bell.wait(), yard.clock.delay(2_s), yard.staff.acquire(Rank{9}));
    yard.callbacks += static_cast<int>(first.which());
  }
}

Process<> listen(Yard& yard) {
  for (int i = 0; i < rounds; ++i) co_await yard.bell.wait();
}

Process<> broadcast(Yard& yard) {
  for (int i = 0; i < 20; ++i) yard.clock.spawn(listen(yard));
  for (int i = 0; i < rounds; ++i) {
    co_await yard.clock.delay(1_s);
    yard.bell.fire();
  }
}

Process<> stop_often(Yard& yard) {
  for (int i = 0; i < rounds; ++i) {
    const Scoped served(yard.clock, serve_often(yard));
    const Scoped waiting(yard.clock, give_up_often(yard));
    co_await yard.clock.delay(12_s);
  }
}

Process<> call_back_often(Yard& yard) {
  for (int i = 0; i < rounds; ++i) {
    const EventId kept = yard.clock.schedule(yard.clock.now() + 1_s, Order::task, [&yard] { ++yard.callbacks; });
    const EventId cancelled = yard.clock.schedule(yard.clock.now() + 1_s, Order::task, [&yard] { ++yard.callbacks; });
    yard.clock.reschedule(kept, yard.clock.now() + 2_s);
    yard.clock.cancel(cancelled);
    co_await yard.clock.delay(3_s);
  }
}

struct Work {
  const char* name;
  void (*start)(Yard& yard);
};

const Work works[] = {
    {"Delay", [](Yard& yard) { yard.clock.spawn(wait_often(yard)); }},
    {"SubProcess", [](Yard& yard) { yard.clock.spawn(call_often(yard)); }},
    {"SpawnAndJoin", [](Yard& yard) { yard.clock.spawn(spawn_and_join(yard)); }},
    {"RequestAndServe", [](Yard& yard) { yard.clock.spawn(serve_often(yard)); }},
    {"Preemption",
     [](Yard& yard) {
       yard.clock.spawn(serve_often(yard));
       yard.clock.spawn(interrupt_often(yard));
     }},
    {"AnyOfAndPatience",
     [](Yard& yard) {
       yard.clock.spawn(serve_often(yard));
       yard.clock.spawn(give_up_often(yard));
     }},
    {"Broadcast", [](Yard& yard) { yard.clock.spawn(broadcast(yard)); }},
    {"Stop", [](Yard& yard) { yard.clock.spawn(stop_often(yard)); }},
    {"Callback", [](Yard& yard) { yard.clock.spawn(call_back_often(yard)); }},
};

class SteadyState : public testing::TestWithParam<Work> {};

TEST_P(SteadyState, AllocatesNothing) {
  if (FARROWTIDE_FRAMES_ALONE) GTEST_SKIP() << "frames come from operator new under an address sanitizer";
  Yard yard;
  const auto allocations_of_a_run = [&] {
    const std::size_t before = allocations;
    GetParam().start(yard);
    yard.clock.run();
    return allocations - before;
  };
  EXPECT_GT(allocations_of_a_run(), 0U);  // warm-up, and proof that the counter counts
  const std::size_t from_the_pool = yard.clock.frames().allocations();
  EXPECT_EQ(allocations_of_a_run(), 0U);
  EXPECT_EQ(yard.clock.frames().allocations(), from_the_pool);
  EXPECT_EQ(yard.clock.frames().live_frames(), 0U);
}

INSTANTIATE_TEST_SUITE_P(Kernel, SteadyState, testing::ValuesIn(works),
                         [](const auto& instance) { return std::string(instance.param.name); });

}  // namespace
}  // namespace farrowtide
