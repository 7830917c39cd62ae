// Are the ways in which we write coroutines right on this compiler? g++ 12 gets others wrong without a warning
// (.ci/coroutine_lint.py refuses those). Each probe counts constructions and destructions, in a process of its own, so
// that a crash is one red line.
#include <gtest/gtest.h>

#include <array>
#include <cstdint>
#include <cstdlib>
#include <functional>
#include <memory>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

#include "libsim/kernel/errors.hpp"
#include "libsim/kernel/first_of.hpp"
#include "libsim/kernel/hazard.hpp"
#include "libsim/kernel/resource.hpp"
#include "libsim/kernel/signal.hpp"
#include "libsim/kernel/simulation.hpp"

namespace farrowtide {
namespace {

/// What a probe's world has seen. `sum` collects values, so that a body that never runs is noticed.
struct Lab {
  int alive = 0;
  int sum = 0;
  Milestone open;
  Simulation clock;
  Resource bench{clock, 1};

  Simulation& simulation() { return clock; }
};

/// Counts itself; owns memory, so that a second destruction is one too many for the heap as well.
class Counted {
 public:
  Counted(Lab& lab, int value) : lab_{&lab}, value_{std::make_unique<int>(value)} { ++lab_->alive; }
  Counted(const Counted& other) : Counted(*other.lab_, *other.value_) {}
  Counted(Counted&& other) noexcept : lab_{other.lab_}, value_{std::move(other.value_)} { ++lab_->alive; }
  Counted& operator=(Counted other) noexcept {
    std::swap(value_, other.value_);
    return *this;
  }
  ~Counted() { --lab_->alive; }

  int value() const { return *value_; }

 private:
  Lab* lab_;
  std::unique_ptr<int> value_;
};

Process<int> pass(Lab& lab, Counted number) {
  co_await lab.clock.delay(1_s);
  co_return number.value();
}

Process<Counted> make(Lab& lab, int value) {
  co_await lab.clock.delay(1_s);
  co_return Counted(lab, value);
}

Process<bool> yes(Lab& lab) {
  co_await lab.clock.delay(1_s);
  co_return true;
}

Process<> bare_wait(Lab& lab) { co_await lab.clock.delay(1_s); }

Process<> named_results(Lab& lab) {
  for (int round = 0; round < 3; ++round) {
    const auto fed = co_await yes(lab);
    if (fed) lab.sum += 1;
    while (lab.sum < 10) {
      const Counted ten = co_await make(lab, 10);
      lab.sum += ten.value();
    }
  }
}

Process<> waits_in_bodies(Lab& lab) {
  for (int i = 0; i < 2; ++i) co_await bare_wait(lab);
  if (lab.sum == 0) {
    const Counted local(lab, 5);
    co_await bare_wait(lab);
    lab.sum += local.value();
  } else {
    co_await bare_wait(lab);
  }
  switch (lab.sum) {
    case 5:
      co_await bare_wait(lab);
      lab.sum += 8;
      break;
    default:
      break;
  }
}

Process<> assignment(Lab& lab) {
  Counted number(lab, 1);
  number = co_await make(lab, 13);
  lab.sum = co_await pass(lab, number);
}

Process<> temporary_arguments(Lab& lab) {
  const int a = co_await pass(lab, Counted(lab, 6));
  const Counted seven(lab, 7);
  const int b = co_await pass(lab, seven);
  lab.sum = a + b;
}

Process<int> length(Lab& lab, std::string text, std::pair<Counted, std::string> more) {
  co_await lab.clock.delay(1_s);
  co_return static_cast<int>(text.size() + more.second.size());
}

Process<> strings_and_pairs(Lab& lab) {
  const std::string part(10, 'x');
  lab.sum = co_await length(lab, part + "y", std::pair(Counted(lab, 1), std::string("zz")));
}

struct Options {
  Counted weight;
  std::string name;
};

Process<int> with_options(Lab& lab, Options options) {
  co_await lab.clock.delay(1_s);
  co_return options.weight.value() + static_cast<int>(options.name.size());
}

Process<> options_named_then_moved(Lab& lab) {
  Options options{Counted(lab, 10), "abc"};
  lab.sum = co_await with_options(lab, std::move(options));
}

Process<std::tuple<Counted, int>> make_pair_later(Lab& lab) {
  co_await lab.clock.delay(1_s);
  co_return std::tuple<Counted, int>(Counted(lab, 6), 7);
}

Process<> structured_binding(Lab& lab) {
  const auto [six, seven] = co_await make_pair_later(lab);
  lab.sum = six.value() + seven;
}

std::vector<Counted> some(Lab& lab) { return {Counted(lab, 6), Counted(lab, 7)}; }

Process<> loop_over_temporary(Lab& lab) {
  for (const Counted& number : some(lab)) {
    const int value = co_await pass(lab, number);
    lab.sum += value;
  }
}

Process<> thrower(Lab& lab, Counted number) {
  const Counted local(lab, 1);
  co_await lab.clock.delay(1_s);
  throw UserError(std::to_string(number.value()));
}

Process<> middle(Lab& lab) {
  const Counted local(lab, 2);
  co_await thrower(lab, Counted(lab, 13));
  lab.sum = -1;
}

Process<> exceptions(Lab& lab) {
  int caught = 0;
  try {
    co_await middle(lab);
  } catch (const UserError& error) {
    caught = std::stoi(error.what());
  }
  co_await lab.clock.delay(1_s);
  lab.sum = caught;
}

Process<> first_of(Lab& lab) {
  auto first = co_await first_of(lab.bench.acquire(), lab.clock.delay(5_s), lab.open.wait());
  Seat seat = first.take<0>();
  const auto second = co_await first_of(seat.serve(5_s), lab.open.wait());
  auto third = co_await lab.bench.acquire_within(3_s);
  lab.sum = second.which() == 0 && !third ? 13 : -1;
}

struct Shed {
  Lab& lab;

  Simulation& simulation() const { return lab.clock; }
  Process<> member(Counted number) {
    const int value = co_await pass(lab, number);
    lab.sum = value;
  }
};

Process<> member_and_lambda(Lab& lab) {
  const auto captureless = [](Shed& shed, Counted number) -> Process<> { co_await shed.member(number); };
  Shed shed{lab};
  co_await captureless(shed, Counted(lab, 13));
}

struct alignas(64) Wide {
  std::array<double, 8> lanes{};
};

Process<> over_aligned(Lab& lab) {
  const Wide first;
  co_await bare_wait(lab);
  const Wide second;
  co_await bare_wait(lab);
  const bool aligned =
      reinterpret_cast<std::uintptr_t>(&first) % 64 == 0 && reinterpret_cast<std::uintptr_t>(&second) % 64 == 0;
  lab.sum = aligned ? 13 : -1;
}

/// Cannot be copied into a frame.
class Stubborn {
 public:
  explicit Stubborn(Lab& lab) : counted_{lab, 1} {}
  Stubborn(const Stubborn& other) : counted_{other.counted_} { throw UserError("no copies"); }

 private:
  Counted counted_;
};

Process<> takes_stubborn(Lab& lab, Stubborn) { co_await bare_wait(lab); }

Process<> parameter_that_throws(Lab& lab) {
  const Stubborn stubborn(lab);
  try {
    co_await takes_stubborn(lab, stubborn);
  } catch (const UserError&) {
    lab.sum = 13;
  }
}

// A sub-process that is a template and keeps a caller's lambda.
Process<> hazard_of_a_lambda(Lab& lab) {
  const Counted pieces(lab, 3);
  const auto rate = [&lab, pieces]() -> std::optional<HazardRate> {
    if (lab.sum++ == pieces.value()) return std::nullopt;
    return HazardRate{.per_day = 1, .holds_for_d = Duration{2}.days(), .changed = nullptr};
  };
  const bool reached = co_await threshold_reached(lab.clock, 1, rate);
  lab.sum = reached ? -1 : 13;
}

using Body = Process<> (*)(Lab&);

struct Probe {
  const char* name;
  Body body;
  int sum;
};

const Probe probes[] = {
    {"BareWait", bare_wait, 0},
    {"NamedResults", named_results, 13},
    {"WaitsInBodies", waits_in_bodies, 13},
    {"Assignment", assignment, 13},
    {"TemporaryArguments", temporary_arguments, 13},
    {"StringsAndPairs", strings_and_pairs, 13},
    {"OptionsNamedThenMoved", options_named_then_moved, 13},
    {"StructuredBinding", structured_binding, 13},
    {"LoopOverTemporary", loop_over_temporary, 13},
    {"Exceptions", exceptions, 13},
    {"FirstResult", first_of, 13},
    {"MemberAndLambda", member_and_lambda, 13},
    {"OverAligned", over_aligned, 13},
    {"ParameterThatThrows", parameter_that_throws, 13},
    {"HazardOfALambda", hazard_of_a_lambda, 13},
};

/// Ends this process: 0 when all is right, else a number that says what is not.
[[noreturn]] void run_to_its_end(const Probe& probe) {
  Lab lab;
  lab.clock.spawn(probe.body(lab));
  lab.clock.run();
  if (lab.sum != probe.sum) std::exit(2);
  if (lab.alive != 0) std::exit(3);
  std::exit(lab.clock.frames().live_frames() == 0 ? 0 : 4);
}

/// Stops the probe before its first step and then in every second of its life.
[[noreturn]] void stop_everywhere(const Probe& probe) {
  for (int second = -1;; ++second) {
    Lab lab;
    const ProcessRef process = lab.clock.spawn(probe.body(lab));
    if (second >= 0) lab.clock.run_until(Time{Duration{second}});
    if (!lab.clock.alive(process)) std::exit(0);
    lab.clock.stop(process);
    if (lab.alive != 0) std::exit(3);
    if (lab.clock.frames().live_frames() != 0) std::exit(4);
  }
}

class CompilerProbe : public testing::TestWithParam<Probe> {};

TEST_P(CompilerProbe, RunsAndBalances) { EXPECT_EXIT(run_to_its_end(GetParam()), testing::ExitedWithCode(0), ""); }

TEST_P(CompilerProbe, BalancesWhereverItIsStopped) {
  EXPECT_EXIT(stop_everywhere(GetParam()), testing::ExitedWithCode(0), "");
}

INSTANTIATE_TEST_SUITE_P(Permitted, CompilerProbe, testing::ValuesIn(probes),
                         [](const auto& instance) { return std::string(instance.param.name); });

}  // namespace
}  // namespace farrowtide
