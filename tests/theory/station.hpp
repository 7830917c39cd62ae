#pragma once

#include <cmath>
#include <cstdint>
#include <utility>
#include <vector>

#include "libsim/kernel/process.hpp"
#include "libsim/kernel/random.hpp"
#include "libsim/kernel/resource.hpp"
#include "libsim/kernel/simulation.hpp"
#include "libsim/kernel/time.hpp"

namespace farrowtide::testing {

/// The unit of time of the formulas is the mean service: so long that rounding to whole seconds does not show.
constexpr double service_s = 100'000;

inline double in_services(Duration length) { return static_cast<double>(length.seconds()) / service_s; }

enum class Spread : std::uint8_t { exponential, constant };

/// A mean over the customers of one replication.
struct Mean {
  double sum = 0;
  std::int64_t count = 0;

  void add(double value) {
    sum += value;
    ++count;
  }
  double value() const { return sum / static_cast<double>(count); }
};

/// Customers of one kind, and what they went through in one replication.
struct Kind {
  double arrivals = 0;  ///< a service time; 0: none come from outside
  Spread work = Spread::exponential;
  Rank rank{};
  Preempt preempt = Preempt::no;
  double patience = 0;     ///< mean, exponential; 0: endless
  int label = 0;           ///< told to an observer of the station
  int room_for = 1 << 30;  ///< who finds so many at the station does not come in

  Mean wait{};     ///< from arrival to the seat, of those served
  Mean sojourn{};  ///< from arrival to the end of service, of those served
  Mean lost{};     ///< 1 for each who leaves unserved, 0 for each served
};

/// One replication of a service station: its people, its draws and its clock.
class Station {
 public:
  Station(std::uint32_t replicate, int people, double length)
      : length_{length}, replicate_{replicate}, staff{clock, people} {}

  Simulation& simulation() { return clock; }
  Duration exponential_draw(double mean) {
    const StreamKey key{.seed = 20'260'101, .replicate = replicate_, .entity = draws_++, .purpose = 1};
    return Duration::from_seconds(mean * service_s * exponential(key));
  }
  Duration work(const Kind& kind) {
    return kind.work == Spread::constant ? Duration::from_seconds(service_s) : exponential_draw(1);
  }
  /// Whether an arrival counts: the station has forgotten that it began empty, and there is time enough to be served.
  bool counts(Time arrival) const {
    const double when = in_services(arrival.since_start());
    return when > margin && when < length_ - margin;
  }
  void run() { clock.run_until(Time{Duration::from_seconds(length_ * service_s)}); }

 private:
  static constexpr double margin = 500;

  double length_;
  std::uint32_t replicate_;
  std::uint32_t draws_ = 0;

 public:
  Simulation clock;
  Resource staff;
};

/// One customer, from arrival to departure.
inline Process<> visit(Station& station, Kind& kind) {
  const Time arrival = station.clock.now();
  const bool counts = station.counts(arrival);
  if (station.staff.in_use() + station.staff.waiting() >= kind.room_for) {
    if (counts) kind.lost.add(1);
    co_return;
  }
  Seat seat;
  if (kind.patience > 0) {
    const Duration patience = station.exponential_draw(kind.patience);
    seat = co_await station.staff.acquire_within(patience, kind.rank, kind.preempt, kind.label);
  } else {
    seat = co_await station.staff.acquire(kind.rank, kind.preempt, kind.label);
  }
  if (counts) kind.lost.add(seat ? 0 : 1);
  if (!seat) co_return;
  if (counts) kind.wait.add(in_services(station.clock.now() - arrival));
  co_await seat.serve(station.work(kind));
  if (counts) kind.sojourn.add(in_services(station.clock.now() - arrival));
}

/// Poisson arrivals.
inline Process<> arrivals(Station& station, Kind& kind) {
  for (;;) {
    co_await station.clock.delay(station.exponential_draw(1 / kind.arrivals));
    station.clock.spawn(visit(station, kind));
  }
}

/// What replications found for one measure.
class Sample {
 public:
  void add(double value) { values_.push_back(value); }
  double mean() const {
    Mean mean;
    for (const double value : values_) mean.add(value);
    return mean.value();
  }
  double standard_error() const {
    const double centre = mean();
    double squares = 0;
    for (const double value : values_) squares += (value - centre) * (value - centre);
    const auto n = static_cast<double>(values_.size());
    return std::sqrt(squares / (n - 1) / n);
  }
  double z(double expected) const { return (mean() - expected) / standard_error(); }

 private:
  std::vector<double> values_;
};

struct Found {
  Sample wait;
  Sample sojourn;
  Sample lost;
};

/// Independent replications of a station with these kinds of customers; `begin(station, kinds)` adds processes of the
/// test's own. Each lasts `length` mean services.
template <class Begin>
std::vector<Found> replicate(int people, const std::vector<Kind>& kinds, double length, Begin begin) {
  constexpr std::uint32_t replications = 40;
  std::vector<Found> found(kinds.size());
  for (std::uint32_t number = 0; number < replications; ++number) {
    std::vector<Kind> customers = kinds;
    Station station{number, people, length};
    for (Kind& kind : customers) {
      if (kind.arrivals > 0) station.clock.spawn(arrivals(station, kind));
    }
    begin(station, customers);
    station.run();
    for (std::size_t i = 0; i < customers.size(); ++i) {
      found[i].wait.add(customers[i].wait.value());
      found[i].sojourn.add(customers[i].sojourn.value());
      found[i].lost.add(customers[i].lost.value());
    }
  }
  return found;
}

inline std::vector<Found> replicate(int people, const std::vector<Kind>& kinds, double length) {
  return replicate(people, kinds, length, [](Station&, std::vector<Kind>&) {});
}

}  // namespace farrowtide::testing
