#include "bindings/own_policy_answers.hpp"

#include "bindings/own_policies.hpp"
#include "libsim/policy/feeding/allowance.hpp"

namespace farrowtide::answer {
namespace {

constexpr std::size_t most_times = 24 * 60;  // one for each minute of a day

}  // namespace

// Strict, so that a method without a `return` is reported.
bool boolean(const py::object& given) { return cast<bool>(given, false, "True or False"); }

Duration clock_time(const py::object& given) {
  const std::string expected =
      "a clock time: a text such as \"07:00\", or hours since midnight, at least 0 and less than 24";
  if (py::isinstance<py::str>(given)) {
    Node text;
    text.kind = Node::Kind::scalar;
    text.text = given.cast<std::string>();
    text.quoted = true;
    const auto time = parse_time_of_day(text);
    return time.value ? *time.value : throw Unfit{expected};
  }
  const Duration time = Duration::from_hours(cast<double>(given, true, expected));
  return 0_s <= time && time < 1_d ? time : throw Unfit{expected};
}

std::vector<Duration> clock_times(const py::object& given) {
  const char* expected = "rising clock times: a list of texts such as \"07:00\" or of hours since midnight";
  if (py::isinstance<py::str>(given) || !py::isinstance<py::iterable>(given)) throw Unfit{expected};
  std::vector<Duration> times;
  for (const py::handle item : given) {  // which may have no end
    if (times.size() == most_times) throw Unfit{std::string("at most 1,440 ") + expected};
    times.push_back(clock_time(py::reinterpret_borrow<py::object>(item)));
    if (times.size() > 1 && times[times.size() - 2] >= times.back()) throw Unfit{expected};
  }
  return times;
}

std::optional<FeedingDecision> feed(const py::object& given) {
  if (given.is_none()) return std::nullopt;
  if (py::isinstance<py::str>(given) && given.cast<std::string>() == "full")
    return FeedingDecision{FeedAccess::full, 0};
  try {
    return FeedingDecision{FeedAccess::by_hand, number(0, max_feed_kg_per_day, "kg")(given)};
  } catch (Unfit& unfit) {
    throw Unfit{unfit.expected + "; 'full' for feed always available; or None"};
  }
}

TroughDecision trough(const py::object& given) { return cast<TroughDecision>(given, false, "a TroughDecision"); }

SignSet signs(const py::object& given) {
  const char* expected = "a set of signs: temperature, nursing, not_eaten, udder, legs";
  if (py::isinstance<py::str>(given) || !py::isinstance<py::iterable>(given)) throw Unfit{expected};
  try {
    return signs_from(given);
  } catch (const UserError&) {
    throw Unfit{expected};
  } catch (const py::cast_error&) {  // a sign that is no text
    throw Unfit{expected};
  }
}

std::vector<FosterMove> moves_in(const FosteringView& view, const py::object& given) {
  const char* expected = "pairs (index in view.piglets, index of another litter in view.litters), each piglet once";
  if (!py::isinstance<py::iterable>(given)) throw Unfit{expected};
  const auto piglets = static_cast<int>(view.piglets.size()), litters = static_cast<int>(view.litters.size());
  std::vector<bool> moved(view.piglets.size());
  std::vector<FosterMove> moves;
  for (const py::handle item : given) {
    const auto [piglet, to] = cast<std::pair<int, int>>(py::reinterpret_borrow<py::object>(item), false, expected);
    if (piglet < 0 || piglets <= piglet || to < 0 || litters <= to) throw Unfit{expected};
    const auto place = static_cast<std::size_t>(piglet);
    if (moved[place] || view.piglets[place].litter == to) throw Unfit{expected};
    moved[place] = true;
    moves.push_back({.piglet = piglet, .to = to});
  }
  return moves;
}

}  // namespace farrowtide::answer
