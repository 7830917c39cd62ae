// What a method of a user's policy returned, read as the value that the engine needs.
#pragma once

#include <pybind11/pybind11.h>

#include <optional>
#include <string>
#include <type_traits>
#include <utility>
#include <vector>

#include "bindings/bind.hpp"
#include "libsim/policy/catalogues.hpp"
#include "libsim/scenario/scalar.hpp"

namespace farrowtide::answer {

namespace py = pybind11;

// Thrown where what a method returned cannot be used.
struct Unfit {
  std::string expected;
};

template <class Value>
Value cast(const py::object& given, bool convert, const std::string& expected) {
  py::detail::make_caster<Value> caster;
  if (!caster.load(given, convert)) {
    PyErr_Clear();
    throw Unfit{expected};
  }
  return py::detail::cast_op<Value>(caster);
}

bool boolean(const py::object& given);

// Where a function takes limits, it returns the reader.
inline auto number(double low, double high, const char* unit) {
  return [=](const py::object& given) {
    const std::string expected = "a number, " + range_text(low, high, unit);
    if (py::isinstance<py::bool_>(given)) throw Unfit{expected};
    const auto value = cast<double>(given, true, expected);
    if (!(low <= value && value <= high)) throw Unfit{expected};
    return value;
  };
}

inline auto integer(int low, int high) {
  return [=](const py::object& given) {
    const std::string expected = "a whole number, " + range_text(low, high, "");
    const int value = cast<int>(given, false, expected);
    if (value < low || high < value) throw Unfit{expected};
    return value;
  };
}

template <class Value>
auto one_of(std::vector<std::pair<std::string, Value>> options) {
  return [options = std::move(options)](const py::object& given) {
    std::vector<std::string> names;
    for (const auto& [name, value] : options) {
      if (py::isinstance<py::str>(given) && given.cast<std::string>() == name) return value;
      names.push_back("'" + name + "'");
    }
    throw Unfit{joined(names, " or ")};
  };
}

template <class Read>
auto or_none(Read read) {
  using Value = std::invoke_result_t<Read, const py::object&>;
  return [read](const py::object& given) -> std::optional<Value> {
    if (given.is_none()) return std::nullopt;
    try {
      return read(given);
    } catch (Unfit& unfit) {
      throw Unfit{unfit.expected + ", or None"};
    }
  };
}

// A text such as "07:00", or hours since midnight.
Duration clock_time(const py::object& given);
// Rising clock times.
std::vector<Duration> clock_times(const py::object& given);

inline auto duration(Duration (*from)(double), double high, const char* unit) {
  return [=](const py::object& given) { return from(number(0, high, unit)(given)); };
}

std::optional<FeedingDecision> feed(const py::object& given);
TroughDecision trough(const py::object& given);
SignSet signs(const py::object& given);

// Moves that are possible: valid indices, each piglet once and not to its own litter.
std::vector<FosterMove> moves_in(const FosteringView& view, const py::object& given);

}  // namespace farrowtide::answer
