// The kernel against queueing theory. Times are in mean services (mu = 1), lambda is the arrival rate, rho the load of
// a server, a = lambda / mu the offered load. Standard errors are over 40 independent replications; a check fails at
// |z| >= 4, and the sizes are such that a mean off by 3 % does (last test). Sources from memory.
#include <gtest/gtest.h>

#include <array>
#include <deque>

#include "libsim/kernel/resource.hpp"
#include "tests/theory/station.hpp"

namespace farrowtide::testing {
namespace {

void expect_agrees(const Sample& sample, double expected) {
  EXPECT_LT(std::abs(sample.z(expected)), 4)
      << "theory " << expected << ", found " << sample.mean() << " +- " << sample.standard_error();
  EXPECT_LT(sample.standard_error(), 0.0075 * expected) << "too small a sample to tell";
}

// Wait rho / (1 - rho), sojourn 1 / (1 - rho). Erlang 1909; Gross and others 2008, Fundamentals of Queueing Theory.
TEST(OneServer, WaitsAsInMM1) {
  const auto found = replicate(1, {Kind{.arrivals = 0.6}}, 130'000);
  expect_agrees(found[0].wait, 0.6 / 0.4);
  expect_agrees(found[0].sojourn, 1 / 0.4);
}

// Pollaczek 1930, Khinchine 1932: wait lambda E[S^2] / (2 (1 - rho)), half of M/M/1's for constant work.
TEST(OneServer, WaitsAsInMD1) {
  const auto found = replicate(1, {Kind{.arrivals = 0.6, .work = Spread::constant}}, 80'000);
  expect_agrees(found[0].wait, 0.6 / (2 * 0.4));
}

/// Share of customers that find all `servers` taken when those are turned away. Erlang 1917, by his recursion.
double erlang_b(int servers, double a) {
  double blocked = 1;
  for (int n = 1; n <= servers; ++n) blocked = a * blocked / (n + a * blocked);
  return blocked;
}

// Erlang 1917 (C): P(wait) = B / (1 - rho (1 - B)), wait = P(wait) / (c - a).
TEST(ThreeServers, WaitAsInMM3) {
  constexpr double a = 2.1;
  const double blocked = erlang_b(3, a);
  const double waits = blocked / (1 - a / 3 * (1 - blocked));
  const auto found = replicate(3, {Kind{.arrivals = a}}, 50'000);
  expect_agrees(found[0].wait, waits / (3 - a));
}

// Erlang 1917 (B); the same for any distribution of the work (Sevastyanov 1957).
TEST(ThreeServers, TurnAwayAsInErlangB) {
  for (const Spread work : {Spread::exponential, Spread::constant}) {
    const auto found = replicate(3, {Kind{.arrivals = 2, .work = work, .room_for = 3}}, 15'000);
    expect_agrees(found[0].lost, erlang_b(3, 2));
  }
}

// Birth and death: p_n proportional to 1, a, a^2 / 2, a^3 / 4. Lost p_3; who comes in waits only in state 2, for the
// first of two servers. Gross and others 2008.
TEST(TwoServers, LoseAndWaitAsInMM2With3Places) {
  constexpr double a = 1.5;
  constexpr double all = 1 + a + a * a / 2 + a * a * a / 4;
  constexpr double p2 = a * a / 2 / all;
  constexpr double p3 = a * a * a / 4 / all;
  const auto found = replicate(2, {Kind{.arrivals = a, .room_for = 3}}, 25'000);
  expect_agrees(found[0].lost, p3);
  expect_agrees(found[0].wait, p2 / 2 / (1 - p3));
}

Process<> machine(Station& station, Kind& kind, double mean_up) {
  for (;;) {
    co_await station.clock.delay(station.exponential_draw(mean_up));
    co_await visit(station, kind);
  }
}

// Palm 1947: p_n = p_0 N! / (N - n)! (1 / up)^n; repairs come at rate 1 - p_0, so each machine's cycle is N / (1 -
// p_0), of which it runs `up`.
TEST(OneServer, RepairsMachinesAsInPalm) {
  constexpr int machines = 5;
  constexpr double up = 6;
  double all = 0;
  for (double n = machines, term = 1; n >= 0; term *= n-- / up) all += term;
  const double repairs = 1 - 1 / all;
  const auto found = replicate(1, {Kind{}}, 60'000, [](Station& station, std::vector<Kind>& kinds) {
    for (int i = 0; i < machines; ++i) station.clock.spawn(machine(station, kinds[0], up));
  });
  expect_agrees(found[0].sojourn, machines / repairs - up);
}

// Cobham 1954: W_1 = R / (1 - rho_1), W_2 = R / ((1 - rho_1)(1 - rho)), R = sum of lambda E[S^2] / 2.
TEST(TwoRanks, WaitAsInCobham) {
  const auto found = replicate(1, {Kind{.arrivals = 0.3}, Kind{.arrivals = 0.3, .rank = Rank{1}}}, 130'000);
  expect_agrees(found[0].wait, 0.6 / 0.7);
  expect_agrees(found[1].wait, 0.6 / (0.7 * 0.4));
}

// White and Christie 1958: the first rank does not see the second; T_2 = 1 / (1 - rho_1) + R / ((1 - rho_1)(1 - rho)).
// Constant work (R = rho / 2) tells work that goes on from work that begins anew.
TEST(TwoRanks, StayAsWithPreemptiveResume) {
  for (const Spread work : {Spread::exponential, Spread::constant}) {
    const double r_1 = work == Spread::constant ? 0.15 : 0.3;
    const auto found = replicate(1,
                                 {Kind{.arrivals = 0.3, .work = work, .preempt = Preempt::yes},
                                  Kind{.arrivals = 0.3, .work = work, .rank = Rank{1}}},
                                 110'000);
    expect_agrees(found[0].sojourn, 1 + r_1 / 0.7);
    expect_agrees(found[1].sojourn, 1 / 0.7 + 2 * r_1 / (0.7 * 0.4));
  }
}

/// Mean services a unit of time that each label got.
struct Busy : ServiceObserver {
  std::array<double, 2> services{};
  void served(int label, Time begin, Time end) noexcept override {
    services.at(static_cast<std::size_t>(label)) += in_services(end - begin);
  }
};

// Work is conserved: each kind is served lambda E[S] of the time, whoever pushes out whom. Little 1961.
TEST(TwoRanks, AreServedWhatTheyBringWhoeverIsPushedOut) {
  constexpr double length = 40'000;
  std::deque<Busy> heard;
  replicate(1, {Kind{.arrivals = 0.3, .preempt = Preempt::yes}, Kind{.arrivals = 0.4, .rank = Rank{1}, .label = 1}},
            length, [&](Station& station, std::vector<Kind>&) { station.staff.observe(&heard.emplace_back()); });
  std::array<Sample, 2> busy;
  for (const Busy& station : heard) {
    for (std::size_t label = 0; label < 2; ++label) busy[label].add(station.services[label] / length);
  }
  expect_agrees(busy[0], 0.3);
  expect_agrees(busy[1], 0.4);
}

/// Work of the last rank that fills idle time, each piece of it finished once begun.
Process<> fill_idle_time(Station& station, double mean) {
  for (;;) {
    auto seat = co_await station.staff.acquire(Rank{9});
    co_await seat.serve(station.exponential_draw(mean));
  }
}

// Levy and Yechiali 1975, a server that is away until somebody waits when it comes back: the wait of M/M/1 and the rest
// of an absence, E[V^2] / (2 E[V]), which is the mean absence when absences are exponential.
TEST(OneServer, WaitsAsWithVacationsWhenItFillsIdleTime) {
  const auto found = replicate(1, {Kind{.arrivals = 0.5}}, 80'000, [](Station& station, std::vector<Kind>&) {
    station.clock.spawn(fill_idle_time(station, 2));
  });
  expect_agrees(found[0].wait, 0.5 / 0.5 + 2);
}

Process<> shifts(Station& station, double mean_on, double mean_off) {
  for (;;) {
    co_await station.clock.delay(station.exponential_draw(mean_on));
    station.staff.set_capacity(0, ShiftEnd::hand_over);
    co_await station.clock.delay(station.exponential_draw(mean_off));
    station.staff.set_capacity(1, ShiftEnd::hand_over);
  }
}

// White and Christie 1958, exponential shifts and pauses whether or not there is work, work held over. With ends at
// rate theta, begins at rate eta and share on = eta / (eta + theta), the generating functions of the chain give L =
// (lambda / on + theta lambda^2 / eta^2) / (1 - lambda / on) + on theta lambda / eta^2; sojourn = L / lambda.
TEST(OneServer, StaysAsWithInterruptionsWhenShiftsHandOver) {
  constexpr double lambda = 0.4;
  constexpr double theta = 1.0 / 3;
  constexpr double eta = 1;
  constexpr double on = eta / (eta + theta);
  constexpr double present =
      (lambda / on + theta * lambda * lambda / (eta * eta)) / (1 - lambda / on) + on * theta * lambda / (eta * eta);
  const auto found = replicate(1, {Kind{.arrivals = lambda}}, 120'000, [](Station& station, std::vector<Kind>&) {
    station.clock.spawn(shifts(station, 1 / theta, 1 / eta), Order::environment);
  });
  expect_agrees(found[0].sojourn, present / lambda);
}

// Palm 1957, Ancker and Gafarian 1963: birth at rate lambda, death at 1 + (n - 1) / patience; who is not served has
// left.
TEST(OneServer, LosesTheImpatientAsInMM1PlusM) {
  constexpr double lambda = 1.2;
  constexpr double patience = 2;
  double all = 0;
  double term = 1;
  for (int n = 0; n < 200; ++n) {
    all += term;
    term *= lambda / (1 + n / patience);
  }
  const double served = 1 - 1 / all;
  const auto found = replicate(1, {Kind{.arrivals = lambda, .patience = patience}}, 30'000);
  expect_agrees(found[0].lost, 1 - served / lambda);
}

TEST(TheseChecks, RefuseAMeanThatIsOffByThreePerCent) {
  const Sample wait = replicate(1, {Kind{.arrivals = 0.6, .work = Spread::constant}}, 80'000)[0].wait;
  EXPECT_LT(wait.z(1.03 * 0.75), -4);
  EXPECT_GT(wait.z(0.97 * 0.75), 4);
}

}  // namespace
}  // namespace farrowtide::testing
