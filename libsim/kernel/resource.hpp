#pragma once

#include <compare>
#include <cstdint>
#include <utility>

#include "libsim/kernel/linked_list.hpp"
#include "libsim/kernel/process.hpp"
#include "libsim/kernel/simulation.hpp"
#include "libsim/kernel/time.hpp"
#include "libsim/kernel/wait.hpp"

namespace farrowtide {

class Acquire;
class Resource;
class Serve;

/// Urgency of a request: the lowest value is served first, equals in order of arrival.
struct Rank {
  int value = 0;
  friend constexpr auto operator<=>(Rank, Rank) = default;
};

/// Whether a request may pre-empt a holder of strictly worse rank that is serving.
enum class Preempt : std::uint8_t { no, yes };

/// What happens to work under way when capacity falls below the seats in use.
enum class ShiftEnd : std::uint8_t {
  finish_task,  ///< it is finished; no queued request is seated
  hand_over,    ///< worst rank, latest arrival is interrupted until in_use fits, and resumes when a seat is free
};

/// Notified of the work done in a resource's seats, in stretches, as each one stops: done, interrupted or withdrawn.
class ServiceObserver {
 public:
  /// `label` is that of the seat. All stretches add up to Resource::served. It must not call the simulation.
  virtual void served(int label, Time begin, Time end) noexcept = 0;

  virtual ~ServiceObserver() = default;
};

/// A seat held at a resource, released when it goes out of scope. Empty if it was never granted or has been released,
/// or if its resource is gone. A holder that is not serving is never interrupted.
class [[nodiscard]] Seat : private Link {
 public:
  Seat() = default;
  Seat(Seat&& other) noexcept { take_over(other); }
  Seat& operator=(Seat&& other) noexcept;
  ~Seat() { release(); }

  explicit operator bool() const { return resource_ != nullptr; }

  /// co_await: does this amount of work in this seat; returns when all of it is done. The work may be interrupted by an
  /// urgent request or the end of a shift; it then queues as of its first arrival and resumes where it stopped. Work
  /// that ends in the same second is not interrupted. If the wait is withdrawn while interrupted, the seat is empty.
  Serve serve(Duration work);
  /// From now on an observer is given this label for work in this seat, in place of that of the request.
  void relabel(int label) { label_ = label; }
  /// How often work in this seat was interrupted.
  int interruptions() const { return interruptions_; }
  void release() noexcept;

 private:
  friend class LinkedList<Seat>;
  friend class Acquire;
  friend class Resource;
  friend class Serve;

  void take_over(Seat& other) noexcept;

  Resource* resource_ = nullptr;
  Acquire* acquire_ = nullptr;  // while it queues for the first time
  Serve* serve_ = nullptr;      // while it serves or, interrupted, queues again
  std::uint64_t arrival_ = 0;
  Rank rank_;
  int label_ = 0;
  int interruptions_ = 0;
  Preempt preempt_ = Preempt::no;
  bool held_ = false;
};

/// Interchangeable seats (people, crates, hoses) and the queue for them. A seat is assigned as soon as it is free, by
/// rank and then arrival, so that a later request in the same second cannot jump the queue.
class Resource {
 public:
  Resource(Simulation& simulation, int capacity);
  ~Resource();
  Resource(const Resource&) = delete;
  Resource& operator=(const Resource&) = delete;

  /// co_await: a seat. Does not wait if one is free or can be pre-empted: from a holder of strictly worse rank that is
  /// serving and has work left, worst rank and latest arrival first. An observer is given the `label`.
  Acquire acquire(Rank rank = {}, Preempt preempt = Preempt::no, int label = 0);
  /// co_await: a seat, or an empty one if `patience` runs out first. If both come in the same second, the seat wins.
  Process<Seat> acquire_within(Duration patience, Rank rank = {}, Preempt preempt = Preempt::no, int label = 0);

  /// A shift begins or ends. Queued requests stay in the queue.
  void set_capacity(int seats, ShiftEnd at_end);

  int capacity() const { return capacity_; }
  int in_use() const { return in_use_; }
  /// Work done in all seats so far, including parts that were interrupted or withdrawn; work under way counts when it
  /// stops.
  Duration served() const { return served_; }
  /// Requests in the queue and interrupted holders.
  int waiting() const { return waiting_; }
  Simulation& simulation() const { return simulation_; }
  /// From now on `observer` is notified of all work; it must outlive the resource and its clock. Null removes it.
  void observe(ServiceObserver* observer) { observer_ = observer; }

 private:
  friend class Acquire;
  friend class Seat;
  friend class Serve;

  bool take_at_once(Seat& seat);
  void enter_queue(Seat& seat);
  void insert_in_queue(Seat& seat);
  void leave(Seat& seat) noexcept;
  void hold(Seat& seat);
  void settle();
  void seat_first();
  void push_out(Seat& seat);
  Seat* victim_for(Rank rank) const;
  template <class Eligible>
  Seat* worst_serving(Eligible eligible) const;

  Simulation& simulation_;
  int capacity_;
  int in_use_ = 0;
  int waiting_ = 0;
  Duration served_;
  ServiceObserver* observer_ = nullptr;
  ShiftEnd at_end_ = ShiftEnd::finish_task;
  std::uint64_t arrivals_ = 0;
  LinkedList<Seat> holders_;
  LinkedList<Seat> queue_;
};

/// co_await: resource.acquire.
class [[nodiscard]] Acquire : public Wait<Acquire> {
 public:
  Acquire(Resource& resource, Rank rank, Preempt preempt, int label);
  Acquire(Acquire&& other) noexcept
      : Wait{std::move(other)}, resource_{other.resource_}, seat_{std::move(other.seat_)} {}
  ~Acquire() { disarm(); }

  bool ready(ProcessRecord&) { return resource_->take_at_once(seat_); }
  void arm(Waiter& waiter) {
    waiter_ = &waiter;
    seat_.acquire_ = this;
    resource_->enter_queue(seat_);
  }
  void disarm() noexcept { seat_.release(); }
  Seat result() { return std::move(seat_); }

 private:
  Resource* resource_;
  Seat seat_;
};

/// co_await: seat.serve.
class [[nodiscard]] Serve : public Wait<Serve> {
 public:
  Serve(Seat& seat, Duration work) : seat_{&seat}, left_{work} {}
  Serve(Serve&& other) noexcept : Wait{std::move(other)}, seat_{other.seat_}, left_{other.left_} {}
  ~Serve() { disarm(); }

  bool ready(ProcessRecord&) const { return false; }
  void arm(Waiter& waiter);
  void disarm() noexcept;
  void result() const {}

 private:
  friend class Resource;
  friend class Seat;

  void begin();
  void interrupt();
  void count_served();
  Duration left_at(Time now) const { return left_ - (now - since_); }
  static void fire(void* serve);

  Seat* seat_;
  Duration left_;
  Time since_;
  EventId event_;
};

}  // namespace farrowtide
