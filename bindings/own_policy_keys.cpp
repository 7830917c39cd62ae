#include "bindings/own_policy_keys.hpp"

#include <limits>
#include <map>

#include "bindings/bind.hpp"
#include "libsim/kernel/errors.hpp"

namespace farrowtide {
namespace py = pybind11;
namespace {

std::string text_of(const py::object& holder, const char* name) { return holder.attr(name).cast<std::string>(); }

template <class Value>
std::optional<Value> if_given(const py::object& holder, const char* name) {
  return holder.attr(name).cast<std::optional<Value>>();
}

std::vector<double> hours_of(const std::vector<Duration>& times) {
  std::vector<double> hours;
  for (const Duration time : times) hours.push_back(time.hours());
  return hours;
}

// One parameter, by the kind that farrowtide.policies gave it.
py::object read_parameter(Section& section, const std::string& name, const py::object& parameter) {
  const std::string kind = text_of(parameter, "kind"), help = text_of(parameter, "help");
  if (kind == "number")
    return py::cast(section.number({.name = name,
                                    .unit = text_of(parameter, "unit"),
                                    .low = if_given<double>(parameter, "low").value_or(-unbounded),
                                    .high = if_given<double>(parameter, "high").value_or(unbounded),
                                    .default_value = if_given<double>(parameter, "default"),
                                    .help = help,
                                    .coefficient = text_of(parameter, "coefficient")}));
  if (kind == "integer")
    return py::cast(section.integer({.name = name,
                                     .low = if_given<int>(parameter, "low").value_or(std::numeric_limits<int>::min()),
                                     .high = if_given<int>(parameter, "high").value_or(std::numeric_limits<int>::max()),
                                     .default_value = if_given<int>(parameter, "default"),
                                     .help = help}));
  if (kind == "boolean")
    return py::cast(
        section.boolean({.name = name, .default_value = if_given<bool>(parameter, "default"), .help = help}));
  if (kind == "choice")
    return py::cast(section.choice({.name = name,
                                    .options = parameter.attr("options").cast<std::vector<std::string>>(),
                                    .default_value = if_given<std::string>(parameter, "default"),
                                    .help = help}));
  if (kind == "times_of_day")
    return py::cast(hours_of(section.times_of_day(
        {.name = name, .default_value = if_given<std::vector<std::string>>(parameter, "default"), .help = help})));
  if (kind == "time_of_day")
    return py::cast(
        section.time_of_day({.name = name, .default_value = if_given<std::string>(parameter, "default"), .help = help})
            .hours());
  throw InternalError("a parameter of kind " + kind);
}

}  // namespace

py::object read_policy(const py::object& policy_class, Section& section) {
  py::dict values;
  for (const auto& [name, parameter] : policy_class.attr("parameters").cast<std::map<std::string, py::object>>())
    values[py::str(name)] = read_parameter(section, name, parameter);
  const py::object policy_or_refusal = policy_class.attr("_from_values")(values);
  if (py::isinstance<py::tuple>(policy_or_refusal)) {
    const auto refusal = policy_or_refusal.cast<std::pair<py::object, std::string>>();
    section.refuse("", refusal.second);
    return refusal.first;
  }
  return policy_or_refusal;
}

}  // namespace farrowtide
