// What the kernel costs, beside a hand-written loop and the standard library's queue that do the same work in the same
// run. Prints a name and the nanoseconds of five repeats a line; benchmark.py adds general-purpose engines and the
// ratios.
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <queue>
#include <string>
#include <vector>

#include "libsim/kernel/event_list.hpp"
#include "libsim/kernel/first_of.hpp"
#include "libsim/kernel/resource.hpp"
#include "libsim/kernel/signal.hpp"
#include "libsim/kernel/simulation.hpp"

namespace farrowtide {
namespace {

// Customers come every 125 s in the mean and are served for 100 s: utilisation 0.8. All variants draw from the same
// generator.
constexpr double mean_gap_s = 125, mean_service_s = 100;

class Generator {
 public:
  Duration exponential(double mean_s) {
    state_ += 0x9e3779b97f4a7c15U;
    std::uint64_t z = state_;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9U;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebU;
    const double uniform = (static_cast<double>((z ^ (z >> 31)) >> 11) + 0.5) / 9007199254740992.0;
    return Duration{static_cast<std::int64_t>(-mean_s * std::log(uniform))};
  }

 private:
  std::uint64_t state_ = 1;
};

struct Shop {
  explicit Shop(int customers_to_come) : customers(customers_to_come), server(clock, 1) {}

  Simulation& simulation() { return clock; }

  int customers, served = 0;
  Generator draw;
  int waiting = 0;
  Signal arrived;
  Simulation clock;
  Resource server;
};

Process<> customer(Shop& shop) {
  Seat seat = co_await shop.server.acquire();
  const Duration service = shop.draw.exponential(mean_service_s);
  co_await seat.serve(service);
  ++shop.served;
}

Process<> source_of_customers(Shop& shop) {
  for (int i = 0; i < shop.customers; ++i) {
    const Duration gap = shop.draw.exponential(mean_gap_s);
    co_await shop.clock.delay(gap);
    shop.clock.spawn(customer(shop));
  }
}

Process<> source_of_arrivals(Shop& shop) {
  for (int i = 0; i < shop.customers; ++i) {
    const Duration gap = shop.draw.exponential(mean_gap_s);
    co_await shop.clock.delay(gap);
    ++shop.waiting;
    shop.arrived.fire();
  }
}

Process<> server(Shop& shop) {
  while (shop.served < shop.customers) {
    while (shop.waiting == 0) co_await shop.arrived.wait();
    --shop.waiting;
    const Duration service = shop.draw.exponential(mean_service_s);
    co_await shop.clock.delay(service);
    ++shop.served;
  }
}

int process_per_customer(int customers) {
  Shop shop(customers);
  shop.clock.spawn(source_of_customers(shop));
  shop.clock.run();
  return shop.served;
}

int two_processes(int customers) {
  Shop shop(customers);
  shop.clock.spawn(server(shop));
  shop.clock.spawn(source_of_arrivals(shop));
  shop.clock.run();
  return shop.served;
}

// The same queue as a loop over a priority queue of two kinds of event, as one would write it for this queue alone.
int hand_loop(int customers) {
  struct Event {
    std::int64_t time_s;
    std::uint64_t sequence;
    bool arrival;
    bool operator<(const Event& other) const {
      return time_s != other.time_s ? time_s > other.time_s : sequence > other.sequence;
    }
  };
  Generator draw;
  std::priority_queue<Event> events;
  std::uint64_t sequence = 0;
  int arrived = 0, served = 0, waiting = 0;
  bool busy = false;
  events.push({draw.exponential(mean_gap_s).seconds(), sequence++, true});
  while (!events.empty()) {
    const Event event = events.top();
    events.pop();
    if (event.arrival) {
      ++waiting;
      if (++arrived < customers) events.push({event.time_s + draw.exponential(mean_gap_s).seconds(), sequence++, true});
    } else {
      busy = false;
      ++served;
    }
    if (busy || waiting == 0) continue;
    busy = true;
    --waiting;
    events.push({event.time_s + draw.exponential(mean_service_s).seconds(), sequence++, false});
  }
  return served;
}

Process<> timer(Simulation& clock, int times) {
  for (int i = 0; i < times; ++i) co_await clock.delay(1_s);
}

Process<> nothing(Simulation&) { co_return; }

Process<> calls(Simulation& clock, int times) {
  for (int i = 0; i < times; ++i) co_await nothing(clock);
}

Process<> spawns(Simulation& clock, int times) {
  for (int i = 0; i < times; ++i) {
    clock.spawn(nothing(clock));
    co_await clock.delay(1_s);
  }
}

Process<> first_of_two(Simulation& clock, Signal& never, int times) {
  for (int i = 0; i < times; ++i) {
    const auto first = co_await first_of(clock.delay(1_s), never.wait());
    static_cast<void>(first.which());
  }
}

Process<> routine_work(Resource& people, int times) {
  for (int i = 0; i < times; ++i) {
    Seat seat = co_await people.acquire(Rank{9});
    co_await seat.serve(10_s);
  }
}

Process<> urgent_work(Resource& people, int times) {
  for (int i = 0; i < times; ++i) {
    co_await people.simulation().delay(5_s);
    Seat seat = co_await people.acquire(Rank{1}, Preempt::yes);
    co_await seat.serve(1_s);
    seat.release();
    co_await people.simulation().delay(5_s);
  }
}

// The hold model: the first of `pending` events is taken out and comes back after a random time.
template <class List>
void hold(List& list, int pending, int times) {
  Generator draw;
  const auto later = [&] { return 1_s + draw.exponential(1000.0 * pending); };
  for (int i = 0; i < pending; ++i) list.put(Time{} + later());
  for (int i = 0; i < times; ++i) list.put(list.take_first() + later());
}

class OurList {
 public:
  void put(Time at) {
    events_.add(
        at, Order::animal, [](void*) {}, nullptr);
  }
  Time take_first() { return events_.pop().time; }

 private:
  EventList events_;
};

// With a sequence number, so that events of the same second keep their order, and an action to call.
class StandardList {
 public:
  void put(Time at) { events_.push({at.since_start().seconds(), sequence_++, nullptr}); }
  Time take_first() {
    const Time at = Time{} + Duration{events_.top().time_s};
    events_.pop();
    return at;
  }

 private:
  struct Event {
    std::int64_t time_s;
    std::uint64_t sequence;
    void* action;
    bool operator<(const Event& other) const {
      return time_s != other.time_s ? time_s > other.time_s : sequence > other.sequence;
    }
  };
  std::priority_queue<Event> events_;
  std::uint64_t sequence_ = 0;
};

template <class List>
void hold_in(int pending, int times) {
  List list;
  hold(list, pending, times);
}

template <class Work>
void measure(const std::string& name, int times, Work work) {
  std::printf("%s", name.c_str());
  for (int repeat = 0; repeat < 5; ++repeat) {
    const auto start = std::chrono::steady_clock::now();
    work(times);
    const std::chrono::duration<double, std::nano> took = std::chrono::steady_clock::now() - start;
    std::printf(" %.2f", took.count() / times);
  }
  std::printf("\n");
}

void run_one(Process<> (*process)(Simulation&, int), int times) {
  Simulation clock;
  clock.spawn(process(clock, times));
  clock.run();
}

int main_program() {
  constexpr int customers = 1'000'000, operations = 1'000'000;
  for (const auto variant : {hand_loop, two_processes, process_per_customer}) {
    if (variant(1000) != 1000) return 1;
  }
  measure("hand_loop", customers, hand_loop);
  measure("source_and_server", customers, two_processes);
  measure("process_per_customer", customers, process_per_customer);
  measure("timer_event", operations, [](int times) { run_one(timer, times); });
  measure("nested_call", operations, [](int times) { run_one(calls, times); });
  measure("spawn_and_finish_with_timer", operations, [](int times) { run_one(spawns, times); });
  measure("first_of_two_timer_wins", operations, [](int times) {
    Simulation clock;
    Signal never;
    clock.spawn(first_of_two(clock, never, times));
    clock.run();
  });
  measure("preempt_cycle", operations / 10, [](int times) {
    Simulation clock;
    Resource people(clock, 1);
    clock.spawn(routine_work(people, times));
    clock.spawn(urgent_work(people, times));
    clock.run();
  });
  for (const int pending : {16, 256, 4096, 100'000}) {
    measure("hold_" + std::to_string(pending), operations, [&](int times) { hold_in<OurList>(pending, times); });
    measure("standard_hold_" + std::to_string(pending), operations,
            [&](int times) { hold_in<StandardList>(pending, times); });
  }
  return 0;
}

}  // namespace
}  // namespace farrowtide

int main() { return farrowtide::main_program(); }
