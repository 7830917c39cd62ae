#pragma once

#include <cstdint>
#include <vector>

#include "libsim/kernel/time.hpp"

#ifndef __SIZEOF_INT128__
#error "the event list compares its entries as one 128-bit integer, which this compiler lacks"
#endif

namespace farrowtide {

/// Identifies a scheduled event; the id of an event that has fired or been cancelled is stale and harmless.
struct EventId {
  std::uint32_t slot = UINT32_MAX;
  std::uint32_t generation = 0;

  explicit operator bool() const { return slot != UINT32_MAX; }
  friend bool operator==(EventId, EventId) = default;
};

/// Pending events in the order (time, order, sequence). A 4-ary heap of 16-byte entries, each one 128-bit integer:
/// time << 88 | order << 84 | sequence << 32 | slot. The slot table locates an entry for cancel and reschedule.
/// Allocates only when the number of pending events exceeds its previous maximum.
class EventList {
 public:
  using Action = void (*)(void* argument);

  struct Event {
    Time time;
    Order order;
    Action action;
    void* argument;
  };

  static constexpr std::int64_t time_limit_s = std::int64_t{1} << 40;

  bool empty() const { return heap_.empty(); }
  std::size_t size() const { return heap_.size(); }
  Time next_time() const { return time_of(heap_.front()); }

  EventId add(Time time, Order order, Action action, void* argument) {
    const std::uint32_t slot = take_slot();
    slots_[slot].action = action;
    slots_[slot].argument = argument;
    heap_.emplace_back();
    sift_up(static_cast<std::uint32_t>(heap_.size() - 1), entry(time, order, slot));
    return {slot, slots_[slot].generation};
  }

  /// Removes and returns the first event; the list must not be empty.
  Event pop() {
    const Entry first = heap_.front();
    const std::uint32_t slot = slot_of(first);
    const Event event{time_of(first), order_of(first), slots_[slot].action, slots_[slot].argument};
    remove(0);
    return event;
  }

  bool pending(EventId id) const {
    return id.slot < slots_.size() && slots_[id.slot].generation == id.generation && slots_[id.slot].action != nullptr;
  }

  /// False when the event is no longer pending.
  bool cancel(EventId id) {
    if (!pending(id)) return false;
    remove(slots_[id.slot].position);
    return true;
  }

  /// Moves a pending event to another time, as if cancelled and scheduled again: it comes after its equals there.
  bool reschedule(EventId id, Time time) {
    if (!pending(id)) return false;
    const std::uint32_t position = slots_[id.slot].position;
    fill(position, entry(time, order_of(heap_[position]), id.slot));
    return true;
  }

  /// Argument of a pending event.
  void* argument(EventId id) const { return slots_[id.slot].argument; }

  /// Calls visit(event) for every pending event, in no particular order.
  template <class Visit>
  void for_each(Visit visit) const {
    for (const Entry e : heap_) {
      const Slot& slot = slots_[slot_of(e)];
      visit(Event{time_of(e), order_of(e), slot.action, slot.argument});
    }
  }

 private:
  __extension__ using Entry = unsigned __int128;
  static_assert(sizeof(Entry) == 16);

  struct Slot {
    std::uint32_t position = 0;  // in the heap, or the next free slot
    std::uint32_t generation = 0;
    Action action = nullptr;  // null: the slot is free
    void* argument = nullptr;
  };

  static constexpr std::uint32_t no_slot = UINT32_MAX;
  static constexpr std::uint32_t arity = 4;

  Entry entry(Time time, Order order, std::uint32_t slot) {
    return static_cast<Entry>(static_cast<std::uint64_t>(time.since_start().seconds())) << 88U |
           static_cast<Entry>(static_cast<std::uint64_t>(order)) << 84U | static_cast<Entry>(sequence_++) << 32U | slot;
  }
  static Time time_of(Entry e) { return Time{Duration{static_cast<std::int64_t>(e >> 88U)}}; }
  static Order order_of(Entry e) { return static_cast<Order>(static_cast<std::uint32_t>(e >> 84U) & 15U); }
  static std::uint32_t slot_of(Entry e) { return static_cast<std::uint32_t>(e); }

  std::uint32_t take_slot() {
    if (free_ == no_slot) {
      slots_.emplace_back();
      return static_cast<std::uint32_t>(slots_.size() - 1);
    }
    const std::uint32_t slot = free_;
    free_ = slots_[slot].position;
    return slot;
  }

  void remove(std::uint32_t position) {
    const std::uint32_t slot = slot_of(heap_[position]);
    ++slots_[slot].generation;
    slots_[slot].action = nullptr;
    slots_[slot].position = free_;
    free_ = slot;
    const Entry last = heap_.back();
    heap_.pop_back();
    if (position < heap_.size()) fill(position, last);
  }

  void put(std::uint32_t position, Entry e) {
    heap_[position] = e;
    slots_[slot_of(e)].position = position;
  }

  /// Fills the gap at `position` with `e`, which nearly always belongs near a leaf: the gap sinks to a leaf, then `e`
  /// rises.
  void fill(std::uint32_t position, Entry e) { sift_up(sink(position), e); }

  void sift_up(std::uint32_t position, Entry e) {
    while (position > 0) {
      const std::uint32_t parent = (position - 1) / arity;
      if (heap_[parent] < e) break;
      put(position, heap_[parent]);
      position = parent;
    }
    put(position, e);
  }

  /// Moves the gap at `position` down to a leaf along the smallest children; returns its final position.
  std::uint32_t sink(std::uint32_t position) {
    const auto size = static_cast<std::uint32_t>(heap_.size());
    for (std::uint32_t first = position * arity + 1; first < size; first = position * arity + 1) {
      const std::uint32_t least = first + arity <= size ? least_of_four(first) : least_of(first, size);
      put(position, heap_[least]);
      position = least;
    }
    return position;
  }

  /// A tournament, which avoids unpredictable branches.
  std::uint32_t least_of_four(std::uint32_t first) const {
    const std::uint32_t left = first + (heap_[first + 1] < heap_[first] ? 1 : 0);
    const std::uint32_t right = first + 2 + (heap_[first + 3] < heap_[first + 2] ? 1 : 0);
    return heap_[right] < heap_[left] ? right : left;
  }
  std::uint32_t least_of(std::uint32_t first, std::uint32_t end) const {
    std::uint32_t least = first;
    for (std::uint32_t child = first + 1; child < end; ++child) {
      if (heap_[child] < heap_[least]) least = child;
    }
    return least;
  }

  std::vector<Entry> heap_;
  std::vector<Slot> slots_;
  std::uint64_t sequence_ = 0;
  std::uint32_t free_ = no_slot;
};

}  // namespace farrowtide
