#include "libsim/kernel/resource.hpp"

#include <string>
#include <tuple>

#include "libsim/kernel/errors.hpp"
#include "libsim/kernel/first_of.hpp"

namespace farrowtide {

// --- Seat ---

void Seat::take_over(Seat& other) noexcept {
  replace(other);
  resource_ = std::exchange(other.resource_, nullptr);
  acquire_ = std::exchange(other.acquire_, nullptr);
  serve_ = std::exchange(other.serve_, nullptr);
  if (serve_ != nullptr) serve_->seat_ = this;
  arrival_ = other.arrival_;
  rank_ = other.rank_;
  label_ = other.label_;
  interruptions_ = other.interruptions_;
  preempt_ = other.preempt_;
  held_ = std::exchange(other.held_, false);
}

Seat& Seat::operator=(Seat&& other) noexcept {
  if (this != &other) {
    release();
    take_over(other);
  }
  return *this;
}

void Seat::release() noexcept {
  if (serve_ != nullptr) {
    serve_->count_served();
    std::exchange(serve_, nullptr)->seat_ = nullptr;
  }
  if (resource_ != nullptr) std::exchange(resource_, nullptr)->leave(*this);
}

Serve Seat::serve(Duration work) {
  if (work < 0_s) throw UserError("work of " + std::to_string(work.seconds()) + " s cannot be served");
  return {*this, work};
}

// --- Resource ---

Resource::Resource(Simulation& simulation, int capacity) : simulation_{simulation}, capacity_{capacity} {
  if (capacity < 0) throw UserError("a resource cannot have " + std::to_string(capacity) + " seats");
}

Resource::~Resource() {
  const auto forget = [](Seat& seat) { seat.resource_ = nullptr; };
  holders_.for_each(forget);
  queue_.for_each(forget);
}

Acquire Resource::acquire(Rank rank, Preempt preempt, int label) { return {*this, rank, preempt, label}; }

Process<Seat> Resource::acquire_within(Duration patience, Rank rank, Preempt preempt, int label) {
  auto first = co_await first_of(acquire(rank, preempt, label), simulation_.delay(patience, Order::decision));
  if (first.which() == 0) co_return first.take<0>();
  co_return Seat();
}

void Resource::set_capacity(int seats, ShiftEnd at_end) {
  if (seats < 0) throw UserError("a resource cannot have " + std::to_string(seats) + " seats");
  capacity_ = seats;
  at_end_ = at_end;
  settle();
}

bool Resource::take_at_once(Seat& seat) {
  if (!queue_.empty() && queue_.front().rank_ <= seat.rank_) return false;
  if (in_use_ == capacity_ && seat.preempt_ == Preempt::yes) {
    if (Seat* victim = victim_for(seat.rank_)) push_out(*victim);
  }
  if (in_use_ >= capacity_) return false;
  seat.resource_ = this;
  seat.arrival_ = arrivals_++;
  hold(seat);
  return true;
}

void Resource::enter_queue(Seat& seat) {
  seat.resource_ = this;
  seat.arrival_ = arrivals_++;
  insert_in_queue(seat);
}

void Resource::insert_in_queue(Seat& seat) {
  const auto precedes = [](const Seat& a, const Seat& b) {
    return std::tie(a.rank_, a.arrival_) < std::tie(b.rank_, b.arrival_);
  };
  queue_.insert_sorted(seat, precedes);
  ++waiting_;
}

void Resource::leave(Seat& seat) noexcept {
  seat.unlink();
  --(std::exchange(seat.held_, false) ? in_use_ : waiting_);
  settle();
}

void Resource::hold(Seat& seat) {
  holders_.append(seat);
  seat.held_ = true;
  ++in_use_;
}

/// Brings the holders in line with rank, capacity and the end of the shift. Restartable: every step leaves a valid
/// state.
void Resource::settle() {
  while (in_use_ > capacity_ && at_end_ == ShiftEnd::hand_over) {
    Seat* last = worst_serving([](const Seat&) { return true; });
    if (last == nullptr) break;
    push_out(*last);
  }
  while (!queue_.empty()) {
    Seat& first = queue_.front();
    if (in_use_ == capacity_ && first.preempt_ == Preempt::yes) {
      if (Seat* victim = victim_for(first.rank_)) push_out(*victim);
    }
    if (in_use_ >= capacity_) break;
    seat_first();
  }
}

void Resource::push_out(Seat& seat) {
  seat.unlink();
  seat.held_ = false;
  --in_use_;
  ++seat.interruptions_;
  seat.serve_->interrupt();
  insert_in_queue(seat);
}

/// Among holders with work left, the one with the worst rank and, among equals, the latest arrival.
template <class Eligible>
Seat* Resource::worst_serving(Eligible eligible) const {
  Seat* worst = nullptr;
  holders_.for_each([&](Seat& seat) {
    // Work that ends in this second is done; only its event is still pending.
    const bool has_work_left = seat.serve_ != nullptr && seat.serve_->left_at(simulation_.now()) > 0_s;
    if (!has_work_left || !eligible(seat)) return;
    if (!worst || std::tie(worst->rank_, worst->arrival_) < std::tie(seat.rank_, seat.arrival_)) worst = &seat;
  });
  return worst;
}

Seat* Resource::victim_for(Rank rank) const {
  return worst_serving([&](const Seat& seat) { return seat.rank_ > rank; });
}

void Resource::seat_first() {
  Seat& seat = queue_.front();
  seat.unlink();
  --waiting_;
  hold(seat);
  if (Acquire* request = std::exchange(seat.acquire_, nullptr)) {
    request->wake();
  } else {
    seat.serve_->begin();
  }
}

// --- Acquire, Serve ---

Acquire::Acquire(Resource& resource, Rank rank, Preempt preempt, int label) : resource_{&resource} {
  seat_.rank_ = rank;
  seat_.label_ = label;
  seat_.preempt_ = preempt;
}

void Serve::arm(Waiter& waiter) {
  if (!*seat_) throw InternalError("cannot serve in an empty seat");
  if (seat_->serve_ != nullptr) throw InternalError("this seat is already serving");
  waiter_ = &waiter;
  seat_->serve_ = this;
  begin();
  seat_->resource_->settle();  // rank and shift may have changed while the holder did something else
}

void Serve::begin() {
  Simulation& simulation = *process().simulation;
  since_ = simulation.now();
  event_ = simulation.add_event(since_ + left_, Order::release, fire, this);
}

/// Adds the work done since it began or resumed; nothing while interrupted.
void Serve::count_served() {
  if (!event_ || seat_ == nullptr || !*seat_) return;
  Resource& resource = *seat_->resource_;
  const Time now = process().simulation->now();
  resource.served_ += now - since_;
  if (resource.observer_ != nullptr && since_ < now) resource.observer_->served(seat_->label_, since_, now);
}

void Serve::interrupt() {
  Simulation& simulation = *process().simulation;
  count_served();
  left_ = left_at(simulation.now());
  simulation.events_.cancel(std::exchange(event_, {}));
}

void Serve::fire(void* serve) {
  auto& self = *static_cast<Serve*>(serve);
  self.count_served();
  self.event_ = {};
  if (self.seat_ != nullptr) std::exchange(self.seat_, nullptr)->serve_ = nullptr;
  self.decide();
  self.process().simulation->resume(self.process());
}

void Serve::disarm() noexcept {
  if (waiter_ == nullptr) return;
  count_served();
  if (event_) process().simulation->events_.cancel(std::exchange(event_, {}));
  if (seat_ == nullptr) return;
  Seat& seat = *std::exchange(seat_, nullptr);
  seat.serve_ = nullptr;
  if (!seat.held_) seat.release();  // interrupted, and no process is left to resume the work
}

}  // namespace farrowtide
