// Another ward, with the kernel alone: customers arrive at random, wait in one queue and are served by three people.
// Their mean wait must be that of M/M/3 (Erlang 1917, in Gross and others 2008, Fundamentals of Queueing Theory):
// P(wait) = C(c, a), wait = C / (c - a) mean service times.
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <vector>

#include "libsim/kernel/process.hpp"
#include "libsim/kernel/random.hpp"
#include "libsim/kernel/resource.hpp"
#include "libsim/kernel/simulation.hpp"

using namespace farrowtide;

namespace {

constexpr int people = 3;
constexpr double load = 2.4;           // mean number of people at work
constexpr double service_s = 100'000;  // so long that rounding to whole seconds does not show
constexpr int customers = 4000, first_counted = 1000;

double erlang_c() {
  double blocked = 1;  // Erlang B by his recursion
  for (int i = 1; i <= people; ++i) blocked = load * blocked / (i + load * blocked);
  const double busy = load / people;
  return blocked / (1 - busy * (1 - blocked));
}

struct Ward {
  Simulation clock;
  Resource staff{clock, people};
  std::uint32_t replicate = 0;
  double waited = 0;

  Simulation& simulation() { return clock; }
  Duration draw(double mean, std::uint32_t customer, std::uint32_t purpose) const {
    const StreamKey key{.seed = 1, .replicate = replicate, .entity = customer, .purpose = purpose};
    return Duration::from_seconds(mean * service_s * exponential(key));
  }
};

Process<> visit(Ward& ward, std::uint32_t customer) {
  const Time arrived = ward.clock.now();
  auto seat = co_await ward.staff.acquire();
  if (customer >= first_counted) ward.waited += static_cast<double>((ward.clock.now() - arrived).seconds()) / service_s;
  co_await seat.serve(ward.draw(1, customer, 1));
}

Process<> arrivals(Ward& ward) {
  for (std::uint32_t customer = 0; customer < customers; ++customer) {
    co_await ward.clock.delay(ward.draw(1 / load, customer, 2));
    ward.clock.spawn(visit(ward, customer));
  }
}

double mean_wait(std::uint32_t replicate) {
  Ward ward;
  ward.replicate = replicate;
  ward.clock.spawn(arrivals(ward));
  ward.clock.run_until(Time{Duration::from_seconds(2.0 * customers * service_s)});
  return ward.waited / (customers - first_counted);
}

}  // namespace

int main() {
  constexpr int replications = 200;
  double sum = 0, squares = 0;
  for (std::uint32_t replicate = 1; replicate <= replications; ++replicate) {
    const double wait = mean_wait(replicate);
    sum += wait;
    squares += wait * wait;
  }
  const double mean = sum / replications;
  const double error = std::sqrt((squares / replications - mean * mean) / (replications - 1));
  const double expected = erlang_c() / (people - load);
  std::printf("mean wait %.4f service times, standard error %.4f; M/M/3: %.4f\n", mean, error, expected);
  return std::abs(mean - expected) < 4 * error && error < 0.05 * expected ? 0 : 1;
}
