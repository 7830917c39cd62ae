#include "libsim/kernel/simulation.hpp"

#include <algorithm>
#include <exception>
#include <set>

namespace farrowtide {
namespace {

/// Rethrows `error`; errors of the library get `place` added to their message, others are unchanged.
[[noreturn]] void rethrow_with(const std::exception_ptr& error, const std::string& place) {
  try {
    std::rethrow_exception(error);
  } catch (const UserError& e) {
    std::throw_with_nested(UserError(e.what() + place));
  } catch (const std::logic_error& e) {
    std::throw_with_nested(InternalError(e.what() + place));
  }
}

}  // namespace

// --- The loop ---

void Simulation::fire_next() {
  const EventList::Event event = events_.pop();
  if (event.time != now_) {
    now_ = event.time;
    fired_before_now_ = events_fired_;
  }
  order_ = event.order;
  ++events_fired_;
  event.action(event.argument);
  if (events_fired_ >= next_look_ || woken_too_late_) look_around();
}

template <class Condition>
void Simulation::fire_while(Condition condition) {
  if (firing_) throw InternalError("run was called during a run");
  struct Firing {
    bool& flag;
    explicit Firing(bool& f) : flag{f} { flag = true; }
    ~Firing() { flag = false; }
  } firing{firing_};
  while (!events_.empty() && condition()) fire_next();
}

void Simulation::run_until(Time end) {
  if (end < now_)
    throw UserError("cannot run until " + to_string(end) + ": the clock is already at " + to_string(now_));
  fire_while([&] { return events_.next_time() <= end; });
  now_ = end;
}

void Simulation::run() {
  fire_while([] { return true; });
}

void Simulation::look_around() {
  if (const ProcessName* woken = std::exchange(woken_too_late_, nullptr)) {
    throw InternalError("process '" + to_string(*woken) + "' was woken at " + to_string(now_) +
                        " in order record, when the rows of that second are final");
  }
  if (events_fired_ >= next_watch_) {
    next_watch_ = events_fired_ + watch_every_;
    watch_();
  }
  if (events_fired_ - fired_before_now_ > events_a_second_limit_) {
    throw InternalError("more than " + std::to_string(events_a_second_limit_) + " events at " + to_string(now_) +
                        ": simulated time does not advance because of " + names_of_the_restless());
  }
  next_look_ = std::min(next_watch_, fired_before_now_ + events_a_second_limit_ + 1);
}

void Simulation::set_watch(std::uint64_t every, Callback watch) {
  if (every == 0 || !watch) throw InternalError("a watch needs a callback and an interval of at least 1 event");
  watch_ = std::move(watch);
  watch_every_ = every;
  next_watch_ = events_fired_ + every;
  next_look_ = 0;
}

void Simulation::set_events_a_second_limit(std::uint64_t limit) {
  events_a_second_limit_ = limit;
  next_look_ = 0;
}

std::string Simulation::names_of_the_restless() const {
  constexpr std::size_t shown = 5;
  std::set<std::string> names;
  events_.for_each([&](const EventList::Event& event) {
    if (event.time != now_) return;
    if (event.action == fire_wake_up) names.insert(to_string(static_cast<ProcessRecord*>(event.argument)->name));
    if (event.action == Delay::fire) names.insert(to_string(static_cast<Delay*>(event.argument)->process().name));
    if (event.action == fire_call) names.insert("a scheduled callback");
  });
  std::string text;
  for (const std::string& name : names) {
    if (names.size() > shown && name == *std::next(names.begin(), shown)) return text + ", ...";
    text += (text.empty() ? "" : ", ") + name;
  }
  return text;
}

// --- Events ---

void Simulation::throw_unschedulable(Time at) const {
  if (at == now_) {
    throw InternalError("nothing can be scheduled at " + to_string(at) +
                        " in order record, when the rows of that second are final");
  }
  if (at < now_) throw UserError(to_string(at) + " is in the past: the clock is at " + to_string(now_));
  throw InternalError(to_string(at) + " is beyond the latest time of an event");
}

EventId Simulation::schedule(Time at, Order order, Callback callback) {
  check_schedulable(at);
  if (unused_call_ == nullptr) unused_call_ = &calls_.emplace_back(Call{this, {}, nullptr});
  Call& call = *unused_call_;
  unused_call_ = call.next_unused;
  call.callback = std::move(callback);
  return events_.add(at, order, fire_call, &call);
}

bool Simulation::cancel(EventId event) {
  if (!events_.pending(event)) return false;
  discard(*static_cast<Call*>(events_.argument(event)));
  return events_.cancel(event);
}

bool Simulation::reschedule(EventId event, Time at) {
  check_schedulable(at);
  return events_.reschedule(event, at);
}

void Simulation::fire_call(void* argument) {
  auto& call = *static_cast<Call*>(argument);
  Simulation& simulation = *call.simulation;
  const Callback callback = std::move(call.callback);
  simulation.discard(call);  // before it is called, so that it can reschedule itself in the same slot
  try {
    callback();
  } catch (...) {
    rethrow_with(std::current_exception(), simulation.place());
  }
}

void Simulation::discard(Call& call) {
  call.callback = nullptr;
  call.next_unused = std::exchange(unused_call_, &call);
}

// --- Processes ---

ProcessRef Simulation::spawn(Process<> life, Order home, std::optional<Time> at) {
  if (!life.frame_) throw InternalError("a process was spawned twice");
  const Time begin = at.value_or(now_);
  check_schedulable(begin);
  if (closing_) return {};
  ProcessRecord& process = unused_record();
  process.wake_up = events_.add(begin, home, fire_wake_up, &process);
  Promise<void>& promise = life.frame_.promise();
  promise.process = &process;
  process.error = &promise.error;
  process.name = promise.name;
  process.home = home;
  process.state = ProcessRecord::State::alive;
  process.outermost = process.waiting_at = std::exchange(life.frame_, {});
  return process.ref;
}

void Simulation::fire_wake_up(void* argument) {
  auto& process = *static_cast<ProcessRecord*>(argument);
  process.simulation->resume(process);
}

/// Runs a process to its next wait. Sub-processes are called from here, not from each other: the stack stays flat.
void Simulation::resume(ProcessRecord& process) {
  running_ = &process;
  for (auto frame = process.waiting_at; frame; frame = std::exchange(process.next, {})) frame.resume();

  if (!process.outermost.done()) {
    running_ = nullptr;
    if (process.stop_at_next_wait) retire(process, Ending::stopped);
    return;
  }
  if (*process.error) fail(process);
  running_ = nullptr;
  retire(process, Ending::finished);
}

void Simulation::fail(ProcessRecord& process) {
  const std::exception_ptr error = *process.error;
  const std::string where = place();
  running_ = nullptr;
  retire(process, Ending::stopped);
  rethrow_with(error, where);
}

void Simulation::wake(ProcessRecord& process) noexcept {
  if (closing_ || process.state == ProcessRecord::State::ending) return;
  if (second_is_final()) woken_too_late_ = &process.name;  // the loop throws: here a destructor may be running
  process.wake_up = events_.add(now_, Order::release, fire_wake_up, &process);
}

void Arm::wake() noexcept {
  if (decide()) process().simulation->wake(process());
}

Stop Simulation::stop(ProcessRef ref) noexcept {
  ProcessRecord* process = find(ref);
  if (process == nullptr) return Stop::over_already;
  if (process == running_) {
    process->stop_at_next_wait = true;
    return Stop::at_next_wait;
  }
  retire(*process, Ending::stopped);
  return Stop::stopped;
}

void Simulation::retire(ProcessRecord& process, Ending ending) noexcept {
  process.state = ProcessRecord::State::ending;  // from here on, stops and wake-ups have no effect on it
  events_.cancel(process.wake_up);
  process.outermost.destroy();
  ++process.ref.generation;
  while (!process.joiners.empty()) {
    Join& joiner = process.joiners.front();
    joiner.unlink();
    joiner.ending_ = ending;
    joiner.wake();
  }
  process.stop_at_next_wait = false;
  process.state = ProcessRecord::State::unused;
  process.next_unused = std::exchange(unused_process_, &process);
}

ProcessRecord& Simulation::unused_record() {
  if (unused_process_ == nullptr) {
    const auto slot = static_cast<std::uint32_t>(processes_.size());
    return *processes_.emplace_back(std::make_unique<ProcessRecord>(*this, slot));
  }
  return *std::exchange(unused_process_, unused_process_->next_unused);
}

ProcessRecord* Simulation::find(ProcessRef ref) const {
  if (ref.slot >= processes_.size()) return nullptr;
  ProcessRecord& process = *processes_[ref.slot];
  return process.state != ProcessRecord::State::alive || process.ref != ref ? nullptr : &process;
}

std::string Simulation::place() const {
  const std::string who = running_ ? "process '" + to_string(running_->name) + "'" : "a callback";
  return " (in " + who + ", " + to_string(now_) + ", order " + to_string(order_) + ")";
}

std::string to_string(ProcessName name) {
  std::string text = name.what;
  if (name.number >= 0) text.append(" ").append(std::to_string(name.number));
  return text;
}

Simulation::~Simulation() {
  closing_ = true;
  for (const auto& process : processes_) {
    if (process->state == ProcessRecord::State::alive) retire(*process, Ending::stopped);
  }
}

}  // namespace farrowtide
