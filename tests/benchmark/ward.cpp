#include "tests/benchmark/ward.hpp"

#include <algorithm>
#include <boost/random/poisson_distribution.hpp>
#include <vector>

#include "libsim/kernel/first_of.hpp"
#include "libsim/kernel/random.hpp"
#include "libsim/kernel/resource.hpp"
#include "libsim/kernel/signal.hpp"
#include "libsim/kernel/simulation.hpp"

namespace farrowtide::ward {
namespace {

struct Sow {
  View view(Time now) const { return {(now - last_birth).minutes(), born}; }

  std::uint32_t number = 0;
  int born = 0;
  Time last_birth{};
  bool unattended = false;  ///< in labour, and nobody has been called
  Signal called{};
};

/// The draws of one ward. Those of a birth are numbered by the piglets born before it.
class Draws {
 public:
  Draws(const Settings& settings, std::uint64_t seed, std::uint32_t replicate)
      : settings_{settings}, seed_{seed}, replicate_{replicate} {}

  Time onset(const Sow& sow) const {
    const double onset_h = settings_.onset_mean_h + settings_.onset_sd_h * normal(key(sow, Purpose::onset));
    return Time{Duration::from_hours(std::max(0.0, onset_h))};
  }
  int litter(const Sow& sow) const {
    Stream stream{key(sow, Purpose::litter)};
    return std::max(1, boost::random::poisson_distribution<int>{settings_.piglets_mean}(stream));
  }
  Duration birth_gap(const Sow& sow) const {
    return Duration::from_minutes(settings_.birth_gap_mean_min * exponential(key(sow, Purpose::birth_gap)));
  }
  Duration help(const Sow& sow) const {
    return Duration::from_minutes(settings_.help_mean_min * exponential(key(sow, Purpose::help)));
  }

 private:
  enum class Purpose : std::uint32_t { onset, litter, birth_gap, help };

  StreamKey key(const Sow& sow, Purpose purpose) const {
    return {.seed = seed_,
            .replicate = replicate_,
            .entity = sow.number,
            .purpose = static_cast<std::uint32_t>(purpose),
            .occasion = static_cast<std::uint32_t>(sow.born)};
  }

  const Settings& settings_;
  std::uint64_t seed_;
  std::uint32_t replicate_;
};

struct Ward {
  Ward(const Settings& given, const Policy& decides, const Draws& drawn)
      : settings{given}, policy{decides}, draws{drawn}, sows(static_cast<std::size_t>(given.sows)) {}

  Simulation& simulation() { return clock; }
  bool on_duty() const {
    const double hour = clock.now().hour_of_day();
    return hour >= settings.on_duty_from_h && hour < settings.on_duty_until_h;
  }

  const Settings& settings;
  const Policy& policy;
  const Draws& draws;
  std::vector<Sow> sows;
  int farrowed = 0;
  int helps = 0;
  Duration farrowing{};
  Duration waited{};
  Simulation clock;
  Resource attendants{clock, settings.attendants};
};

/// From the call to the birth: at the end of help, or by itself while everybody helps other sows.
Process<> birth_after_call(Ward& ward, Sow& sow, Time by_itself) {
  const Time called = ward.clock.now();
  auto first = co_await first_of(ward.clock.until(by_itself), ward.attendants.acquire());
  if (first.which() == 0) co_return;
  Seat attendant = first.take<1>();
  ++ward.helps;
  ward.waited += ward.clock.now() - called;
  co_await attendant.serve(ward.draws.help(sow));
}

Process<> next_birth(Ward& ward, Sow& sow) {
  const Time by_itself = ward.clock.now() + ward.draws.birth_gap(sow);
  sow.unattended = true;
  const auto first = co_await first_of(ward.clock.until(by_itself), sow.called.wait());
  sow.unattended = false;
  if (first.which() == 0) co_return;
  co_await birth_after_call(ward, sow, by_itself);
}

Process<> farrow(Ward& ward, Sow& sow) {
  co_await ward.clock.until(ward.draws.onset(sow));
  const int litter = ward.draws.litter(sow);
  const Time first_birth = ward.clock.now();
  sow.last_birth = first_birth;
  for (sow.born = 1; sow.born < litter; ++sow.born) {
    co_await next_birth(ward, sow);
    sow.last_birth = ward.clock.now();
  }
  ward.farrowing += sow.last_birth - first_birth;
  ++ward.farrowed;
}

void look_at_sows(Ward& ward) {
  for (Sow& sow : ward.sows) {
    if (sow.unattended && ward.policy(sow.view(ward.clock.now()))) sow.called.fire();
  }
}

Process<> rounds(Ward& ward) {
  const Duration interval = Duration::from_minutes(ward.settings.round_every_min);
  while (ward.farrowed < ward.settings.sows) {
    co_await ward.clock.delay(interval);
    if (ward.on_duty()) look_at_sows(ward);
  }
}

Outcome outcome(const Ward& ward) {
  return {.farrowing_mean_min = ward.farrowing.minutes() / ward.settings.sows,
          .helps = ward.helps,
          .busy_min = ward.attendants.served().minutes(),
          .help_wait_mean_min = ward.waited.minutes() / std::max(1, ward.helps)};
}

}  // namespace

Policy help_after(double limit_min) {
  return [limit_min](const View& view) { return view.since_last_birth_min >= limit_min; };
}

Outcome simulate(const Settings& settings, const Policy& policy, std::uint64_t seed, std::uint32_t replicate) {
  const Draws draws{settings, seed, replicate};
  Ward ward{settings, policy, draws};
  std::uint32_t number = 0;
  for (Sow& sow : ward.sows) {
    sow.number = number++;
    ward.clock.spawn(farrow(ward, sow).named("farrowing of sow", sow.number));
  }
  ward.clock.spawn(rounds(ward).named("rounds"), Order::decision);
  ward.clock.run();
  return outcome(ward);
}

}  // namespace farrowtide::ward
