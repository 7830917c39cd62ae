#include "libsim/kernel/event_list.hpp"

#include <gtest/gtest.h>

#include <map>
#include <random>
#include <tuple>
#include <utility>
#include <vector>

namespace farrowtide {
namespace {

void no_action(void*) {}

Time at(std::int64_t second) { return Time{Duration{second}}; }

TEST(EventList, FiresByTimeThenOrderThenFirstScheduled) {
  EventList list;
  const std::vector<std::pair<std::int64_t, Order>> added{
      {5, Order::task}, {5, Order::animal}, {3, Order::record}, {5, Order::task}, {5, Order::environment}};
  std::vector<int> labels{0, 1, 2, 3, 4};
  for (std::size_t i = 0; i < added.size(); ++i) list.add(at(added[i].first), added[i].second, no_action, &labels[i]);
  std::vector<int> fired;
  while (!list.empty()) fired.push_back(*static_cast<int*>(list.pop().argument));
  EXPECT_EQ(fired, (std::vector<int>{2, 4, 1, 0, 3}));
}

TEST(EventList, RescheduledEventQueuesBehindItsEqualsEvenAtTheSameTime) {
  EventList list;
  int first = 1;
  int second = 2;
  const EventId id = list.add(at(5), Order::animal, no_action, &first);
  list.add(at(5), Order::animal, no_action, &second);
  EXPECT_TRUE(list.reschedule(id, at(5)));
  EXPECT_EQ(list.pop().argument, &second);
  EXPECT_EQ(list.pop().argument, &first);
}

TEST(EventList, IgnoresStaleIdsAlsoWhenTheirSlotIsInUseAgain) {
  EventList list;
  const EventId fired = list.add(at(1), Order::animal, no_action, nullptr);
  list.pop();
  const EventId fresh = list.add(at(2), Order::animal, no_action, nullptr);
  EXPECT_EQ(fired.slot, fresh.slot);
  EXPECT_FALSE(list.cancel(fired));
  EXPECT_FALSE(list.reschedule(fired, at(9)));
  EXPECT_FALSE(list.cancel(EventId{}));
  EXPECT_TRUE(list.cancel(fresh));
  EXPECT_FALSE(list.cancel(fresh));
  EXPECT_TRUE(list.empty());
}

TEST(EventList, KeepsTheLargestTimeItPromises) {
  EventList list;
  list.add(at(EventList::time_limit_s - 1), Order::record, no_action, nullptr);
  EXPECT_EQ(list.next_time(), at(EventList::time_limit_s - 1));
  EXPECT_EQ(list.pop().order, Order::record);
}

/// The same operations on an ordered map, whose correctness we take for granted.
class Model {
 public:
  using Key = std::tuple<std::int64_t, Order, std::uint64_t>;

  Key add(std::int64_t time, Order order, void* argument) {
    const Key key{time, order, sequence_++};
    events_[key] = argument;
    return key;
  }
  bool cancel(Key key) { return events_.erase(key) == 1; }
  bool reschedule(Key& key, std::int64_t time) {
    const auto node = events_.extract(key);
    if (node.empty()) return false;
    key = add(time, std::get<Order>(key), node.mapped());
    return true;
  }
  std::pair<Key, void*> pop() {
    const auto first = *events_.begin();
    events_.erase(events_.begin());
    return first;
  }
  std::size_t size() const { return events_.size(); }

 private:
  std::map<Key, void*> events_;
  std::uint64_t sequence_ = 0;
};

TEST(EventList, AgreesWithAnOrderedMapOverRandomOperations) {
  std::mt19937_64 random{20240611};
  EventList list;
  Model model;
  std::vector<std::pair<EventId, Model::Key>> handles;  // live and stale ones
  std::int64_t now = 0;
  for (int step = 0; step < 400000; ++step) {
    const auto some_time = now + static_cast<std::int64_t>(random() % 40);  // narrow: ties are the rule
    const auto choice = random() % 10;
    if (choice < 4 || handles.empty()) {
      const auto order = static_cast<Order>(random() % 6);
      void* argument = reinterpret_cast<void*>(static_cast<std::uintptr_t>(step));
      handles.emplace_back(list.add(at(some_time), order, no_action, argument), model.add(some_time, order, argument));
    } else if (choice < 7) {
      if (list.empty()) continue;
      const auto event = list.pop();
      const auto [key, argument] = model.pop();
      ASSERT_EQ(event.argument, argument);
      ASSERT_EQ(event.time, at(std::get<0>(key)));
      ASSERT_EQ(event.order, std::get<Order>(key));
      now = std::get<0>(key);
    } else {
      auto& [id, key] = handles[random() % handles.size()];
      const bool cancels = choice == 7;
      ASSERT_EQ(cancels ? list.cancel(id) : list.reschedule(id, at(some_time)),
                cancels ? model.cancel(key) : model.reschedule(key, some_time));
    }
    ASSERT_EQ(list.size(), model.size());
    if (handles.size() > 2000) handles.erase(handles.begin(), handles.begin() + 1000);
  }
}

}  // namespace
}  // namespace farrowtide
