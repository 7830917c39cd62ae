// What the engine reports about itself and a scenario: coefficients, tasks, draws, order of events, timetable.
#include <optional>

#include "bindings/bind.hpp"
#include "libsim/kernel/errors.hpp"
#include "libsim/model/farm.hpp"
#include "libsim/model/planned_work.hpp"
#include "libsim/model/purpose.hpp"
#include "libsim/model/staff/task.hpp"
#include "libsim/run/scenario.hpp"

namespace farrowtide {
namespace py = pybind11;
namespace {

py::dict costs_of_lateness() {
  py::dict costs;
  for (const TaskFacts& task : task_catalogue)
    costs[py::str(std::string(task.name))] = std::string(task.cost_of_lateness);
  return costs;
}

py::list described_tasks(const Coefficients& coefficients) {
  const TaskRanks ranks{coefficients};
  py::list tasks;
  for (const TaskFacts& task : task_catalogue) {
    py::dict described;
    described["name"] = std::string(task.name);
    described["rank"] = ranks(task.kind);
    described["pre_empts"] = task.urgency == Urgency::pre_empts;
    described["due"] = std::string(name_of(task.due));
    described["cost_of_lateness"] = std::string(task.cost_of_lateness);
    described["time"] = "staff.task_time." + std::string(task.time);
    tasks.append(described);
  }
  return tasks;
}

py::dict task_groups() {
  py::dict groups;
  for (const Name<TaskGroup>& group : NameTable<TaskGroup>::rows) {
    py::list tasks;
    for (const TaskFacts& task : task_catalogue) {
      if (task.group == group.value) tasks.append(std::string(task.name));
    }
    groups[py::str(std::string(group.name))] = py::tuple(tasks);
  }
  return groups;
}

py::dict purposes() {
  py::dict numbers;
  for (const Name<Purpose>& purpose : names(Purpose{}))
    numbers[py::str(std::string(purpose.name))] = static_cast<std::uint32_t>(purpose.value);
  return numbers;
}

// Mappings, lists and texts as in the file.
py::object content_of(const Node& node) {
  switch (node.kind) {
    case Node::Kind::empty:
      return py::none();
    case Node::Kind::scalar:
      return py::str(node.text);
    case Node::Kind::list: {
      py::list items;
      for (const NodeRef& item : node.items) items.append(content_of(*item));
      return items;
    }
    case Node::Kind::mapping:
      break;
  }
  py::dict entries;
  for (const Node::Entry& entry : node.entries) entries[py::str(entry.key)] = content_of(*entry.value);
  return entries;
}

py::list roster_of(const Scenario& scenario) {
  py::list shifts;
  for (const Shift& shift : scenario.farm().staff.shifts) {
    py::dict described;
    py::list weekdays;
    for (std::size_t day = 0; day < shift.weekdays.size(); ++day) {
      if (shift.weekdays[day]) weekdays.append(day);
    }
    described["weekdays"] = weekdays;
    described["from_h"] = shift.from.hours();
    described["until_h"] = shift.until.hours();
    described["people"] = shift.people;
    described["break_min"] = shift.break_length.minutes();
    described["break_from_h"] = shift.break_from ? py::cast(shift.break_from->hours()) : py::none();
    described["absence"] = shift.absence;
    shifts.append(described);
  }
  return shifts;
}

// Path, value, whether it was given, file and line, what it has an effect with.
py::list settings_of(const Scenario& scenario) {
  py::list settings;
  for (const SettingInEffect& setting : scenario.settings_in_effect()) {
    const std::string file = setting.place.source ? setting.place.source->name : "";
    settings.append(
        py::make_tuple(setting.path, setting.value, setting.given, file, setting.place.line, setting.only_with));
  }
  return settings;
}

// Hours from now after which a task that nobody has started is given up; none if it never is.
std::optional<double> patience_h(TaskKind kind, Duration time_of_day) {
  switch (facts_of(kind).give_up) {
    case GiveUpRule::at_midnight:
      return 24 - time_of_day.hours();
    case GiveUpRule::after_a_day:
      return 24;
    case GiveUpRule::at_next_round:
    case GiveUpRule::never:
      return std::nullopt;
  }
  throw InternalError("task kind without a give-up rule");
}

py::list planned_work_of(const Scenario& scenario) {
  py::list tasks;
  for (const PlannedTask& task : planned_work(scenario.farm()))
    tasks.append(py::make_tuple(std::string(name_of(task.kind)), task.time.hours(), patience_h(task.kind, task.time)));
  return tasks;
}

py::list duties_of(const Scenario& scenario) {
  py::list duties;
  for (const Duty& duty : planned_duties(scenario.farm()))
    duties.append(py::make_tuple(duty.begin.since_start().hours(), duty.end.since_start().hours(), duty.people));
  return duties;
}

py::tuple largest_portion_of(const Scenario& scenario) {
  const LargestPortion portion = largest_portion(scenario.farm());
  return py::make_tuple(portion.kg, portion.time.hours(), portion.lactation_day);
}

std::map<std::string, int> timetable_of(const Scenario& scenario) {
  const FarmSettings& farm = scenario.farm();
  const CountedTime counted = farm.counted();
  return {{"loading_days_before_due", farm.loading->days_before_due()},
          {"lactation_days", farm.group.lactation_days},
          {"wash_and_dry_days", farm.wash_and_dry_days},
          {"days_of_a_group", farm.last_day() + 1},
          {"days_simulated", farm.last_day_of_farm() + 1},
          {"counted_from_day", static_cast<int>(counted.from.day())},
          {"counted_until_day", static_cast<int>(counted.until.day())},
          {"night_people", farm.attendance->night_people()},
          {"nurse_sows_at_most", farm.fostering->nurse_sows()}};
}

}  // namespace

void bind_reference(py::module_& module) {
  py::class_<Coefficient>(module, "Coefficient",
                          "A coefficient of the model: `value` has one entry, or one for each point of a table.")
      .def_readonly("path", &Coefficient::path)
      .def_readonly("unit", &Coefficient::unit)
      .def_readonly("value", &Coefficient::value)
      .def_readonly("low", &Coefficient::low)
      .def_readonly("high", &Coefficient::high)
      .def_readonly("grade", &Coefficient::grade)
      .def_readonly("source", &Coefficient::source)
      .def_readonly("note", &Coefficient::note)
      .def_readonly("overlaid", &Coefficient::overlaid);

  py::class_<Coefficients>(module, "Coefficients")
      .def_static("built_in", &Coefficients::built_in)
      .def("with_overlay", &Coefficients::with_overlay, py::arg("text"), py::arg("source_name"))
      .def("find", &Coefficients::find, py::arg("path"))
      .def("has", &Coefficients::has, py::arg("path"))
      .def_property_readonly("paths", &Coefficients::paths)
      .def_property_readonly("overlaid_paths", &Coefficients::overlaid_paths)
      .def_property_readonly("hash", &Coefficients::hash)
      .def("__len__", &Coefficients::size);

  module.def("costs_of_lateness", &costs_of_lateness,
             "Task -> what lateness costs the animals in the model; empty if it is only recorded.");
  module.def("task_groups", &task_groups,
             "Group of tasks -> its tasks; for charts, in which all kinds cannot be told apart.");
  module.def("tasks", &described_tasks, py::arg("coefficients"), "Every kind of task and its fixed properties.");
  module.def("purposes", &purposes, "The purposes of random draws, with the number that is part of their address.");
  module.def(
      "event_orders", [] { return NameTable<Order>::all; }, "The order of events within the same second.");
  module.def(
      "written", [](const Scenario& scenario) { return content_of(*scenario.document().root()); }, py::arg("scenario"),
      "The content of the scenario's file with overrides applied.");
  module.def("roster", &roster_of, py::arg("scenario"), "The shifts of a week; weekday 0 is Monday.");
  module.def("settings_in_effect", &settings_of, py::arg("scenario"),
             "Every key as it was read: path, value, whether it was given, file, line, what it has an effect with.");
  module.def("planned_work", &planned_work_of, py::arg("scenario"),
             "What staff are asked for at set times: task, hour of the day, hours until it is given up or None.");
  module.def("duties", &duties_of, py::arg("scenario"),
             "Who is on duty when, without absences: begin and end [h since the start], people.");
  module.def("largest_portion", &largest_portion_of, py::arg("scenario"),
             "The largest amount that is put into a trough at one time: kg, hour of the day, lactation day.");
  module.def("timetable", &timetable_of, py::arg("scenario"),
             "Durations and days [d], and numbers of extra people and sows.");
#ifdef __clang__
  module.attr("compiler") = __VERSION__;
#else
  module.attr("compiler") = "GCC " __VERSION__;
#endif
}

}  // namespace farrowtide
