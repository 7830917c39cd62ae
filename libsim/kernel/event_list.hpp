#pragma once

#include <algorithm>
#include <cstddef>
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

/// Pending events in the order (time, order, sequence), in a winner tree: each leaf is the entry of one slot, and each
/// node above is the lesser of its two children, so that the root is the first event. An entry is one 128-bit integer:
/// time << 88 | order << 84 | sequence << 32 | slot. An event that is added goes up only as far as it is the first; one
/// that is removed or moved has every game up to the root played again, without a branch that depends on the entries.
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

  bool empty() const { return size_ == 0; }
  std::size_t size() const { return size_; }
  /// The list must not be empty.
  Time next_time() const { return time_of(tree_[root]); }

  EventId add(Time time, Order order, Action action, void* argument) {
    const std::uint32_t slot = take_slot();
    slots_[slot].action = action;
    slots_[slot].argument = argument;
    ++size_;
    enter(slot, entry(time, order, slot));
    return {slot, slots_[slot].generation};
  }

  /// Removes and returns the first event; the list must not be empty.
  Event pop() {
    const Entry first = tree_[root];
    const std::uint32_t slot = slot_of(first);
    const Event event{time_of(first), order_of(first), slots_[slot].action, slots_[slot].argument};
    remove(slot);
    return event;
  }

  bool pending(EventId id) const {
    return id.slot < slots_.size() && slots_[id.slot].generation == id.generation && slots_[id.slot].action != nullptr;
  }

  /// False when the event is no longer pending.
  bool cancel(EventId id) {
    if (!pending(id)) return false;
    remove(id.slot);
    return true;
  }

  /// Moves a pending event to another time, as if cancelled and scheduled again: it comes after its equals there.
  bool reschedule(EventId id, Time time) {
    if (!pending(id)) return false;
    replay(id.slot, entry(time, order_of(tree_[leaves() + id.slot]), id.slot));
    return true;
  }

  /// Argument of a pending event.
  void* argument(EventId id) const { return slots_[id.slot].argument; }

  /// Calls visit(event) for every pending event, in no particular order.
  template <class Visit>
  void for_each(Visit visit) const {
    for (std::size_t i = leaves(); i < tree_.size(); ++i) {
      if (tree_[i] == none) continue;
      const Slot& slot = slots_[slot_of(tree_[i])];
      visit(Event{time_of(tree_[i]), order_of(tree_[i]), slot.action, slot.argument});
    }
  }

 private:
  __extension__ using Entry = unsigned __int128;
  static_assert(sizeof(Entry) == 16);

  static constexpr std::uint32_t no_slot = UINT32_MAX;
  static constexpr Entry none = ~Entry{0};  // of a free slot: after every event
  static constexpr std::size_t root = 1, least_leaves = 2;

  struct Slot {
    std::uint32_t generation = 0;
    std::uint32_t next_free = no_slot;
    Action action = nullptr;  // null: the slot is free
    void* argument = nullptr;
  };

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
      if (slots_.size() > leaves()) grow();
      return static_cast<std::uint32_t>(slots_.size() - 1);
    }
    const std::uint32_t slot = free_;
    free_ = slots_[slot].next_free;
    return slot;
  }

  void remove(std::uint32_t slot) {
    ++slots_[slot].generation;
    slots_[slot].action = nullptr;
    slots_[slot].next_free = free_;
    free_ = slot;
    --size_;
    replay(slot, none);
  }

  std::size_t leaves() const { return tree_.size() / 2; }

  /// Puts `e` on the leaf of a free slot: it goes up until it meets an earlier one.
  void enter(std::uint32_t slot, Entry e) {
    std::size_t node = leaves() + slot;
    for (; node >= root && e < tree_[node]; node /= 2) tree_[node] = e;
  }

  /// Puts `e` on the leaf of `slot` in place of what is there.
  void replay(std::uint32_t slot, Entry e) {
    std::size_t node = leaves() + slot;
    tree_[node] = e;
    for (; node > root; node /= 2) {
      const Entry other = tree_[node ^ 1U];
      e = other < e ? other : e;
      tree_[node / 2] = e;
    }
  }

  /// Doubles the leaves and plays all games again.
  void grow() {
    const std::vector<Entry> before(tree_.begin() + static_cast<std::ptrdiff_t>(leaves()), tree_.end());
    const std::size_t wider = std::max(least_leaves, 2 * leaves());
    tree_.assign(2 * wider, none);
    std::copy(before.begin(), before.end(), tree_.begin() + static_cast<std::ptrdiff_t>(leaves()));
    for (std::size_t node = leaves() - 1; node >= root; --node) {
      tree_[node] = std::min(tree_[2 * node], tree_[2 * node + 1]);
    }
  }

  std::vector<Entry> tree_;  // children of node i: 2i and 2i + 1; node 0 is not used
  std::vector<Slot> slots_;
  std::size_t size_ = 0;
  std::uint64_t sequence_ = 0;
  std::uint32_t free_ = no_slot;
};

}  // namespace farrowtide
