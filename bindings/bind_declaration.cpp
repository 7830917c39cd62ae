// The tree of every key of a scenario, from which Python writes the key reference, the schema and `explain`.
#include <cmath>
#include <limits>

#include "bindings/bind.hpp"
#include "libsim/kernel/errors.hpp"
#include "libsim/run/scenario.hpp"
#include "libsim/scenario/declaration.hpp"
#include "libsim/scenario/scalar.hpp"
#include "libsim/scenario/units.hpp"

namespace farrowtide {
namespace py = pybind11;
namespace {

const char* name_of(Declaration::Kind kind) {
  using Kind = Declaration::Kind;
  switch (kind) {
    case Kind::number:
      return "number";
    case Kind::integer:
      return "integer";
    case Kind::boolean:
      return "boolean";
    case Kind::string:
      return "string";
    case Kind::choice:
      return "choice";
    case Kind::time_of_day:
      return "time_of_day";
    case Kind::times_of_day:
      return "times_of_day";
    case Kind::date:
      return "date";
    case Kind::numbers:
      return "numbers";
    case Kind::integers:
      return "integers";
    case Kind::strings:
      return "strings";
    case Kind::section:
      return "section";
    case Kind::list:
      return "list";
    case Kind::named:
      return "named";
    case Kind::anything:
      return "anything";
  }
  throw InternalError("a kind of key has no name");
}

// None where there is no bound, of numbers or of integers.
std::optional<double> bound(double limit) {
  const bool unlimited =
      std::isinf(limit) || limit == std::numeric_limits<int>::min() || limit == std::numeric_limits<int>::max();
  return unlimited ? std::nullopt : std::optional(limit);
}

std::optional<std::size_t> most_items(const Declaration& key) {
  constexpr std::size_t unlimited = 1000;  // a limit of this or more means no limit
  return key.max_items < unlimited ? std::optional(key.max_items) : std::nullopt;
}

std::optional<std::string> default_of(const Declaration& key) {
  return key.presence == Declaration::Presence::has_default ? std::optional(key.default_value) : std::nullopt;
}

}  // namespace

void bind_declaration(py::module_& module) {
  py::class_<Declaration> declaration(module, "Declaration", "A key of a scenario, and the keys below it.");
  py::class_<Declaration::Variant>(declaration, "Variant", "An option of a choice with its own keys beside the choice.")
      .def_readonly("name", &Declaration::Variant::name)
      .def_readonly("help", &Declaration::Variant::help)
      .def_readonly("keys", &Declaration::Variant::keys);
  declaration.def_property_readonly("kind", [](const Declaration& key) { return name_of(key.kind); })
      .def_readonly("name", &Declaration::name)
      .def_readonly("aliases", &Declaration::aliases, "Earlier names, which files may still use.")
      .def_readonly("help", &Declaration::help)
      .def_readonly("unit", &Declaration::unit, "Of a bare number; \"-\": none; \"\": no number.")
      .def_property_readonly(
          "units", [](const Declaration& key) { return units_like(key.unit); },
          "Units in which a value may be written, the declared one first.")
      .def_property_readonly(
          "low", [](const Declaration& key) { return bound(key.low); }, "None: no bound.")
      .def_property_readonly(
          "high", [](const Declaration& key) { return bound(key.high); }, "None: no bound.")
      .def_property_readonly(
          "range",
          [](const Declaration& key) { return range_text(key.low, key.high, key.unit.empty() ? "-" : key.unit); },
          "The range as shown in messages: \"0.1 to 10 L/min\", \"at least 0\", \"\".")
      .def_readonly("min_items", &Declaration::min_items, "Entries of a list.")
      .def_property_readonly("max_items", &most_items, "Entries of a list; None: no bound.")
      .def_property_readonly("default", &default_of, "As written in a file; None if there is no default.")
      .def_property_readonly("required",
                             [](const Declaration& key) { return key.presence == Declaration::Presence::required; })
      .def_readonly("options", &Declaration::options)
      .def_readonly("source", &Declaration::source)
      .def_readonly("grade", &Declaration::grade)
      .def_readonly("coefficient", &Declaration::coefficient, "The path that gives default, source and grade; \"\".")
      .def_readonly("only_with", &Declaration::only_with,
                    "A choice without which it has no effect: \"climate.kind: imposed\".")
      .def_readonly("keys", &Declaration::keys, "Of a section, or of each entry of a list.")
      .def_readonly("variants", &Declaration::variants, "Of a choice.");
  module.def("declaration", &scenario_declaration, "Every key of a scenario: `keys` of its root.");
  module.def("closest", &closest, py::arg("word"), py::arg("candidates"),
             "The candidate most likely meant by `word`; \"\" if none is close enough.");
}

}  // namespace farrowtide
