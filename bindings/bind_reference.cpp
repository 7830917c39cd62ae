// What the engine can say about its keys and its numbers: explain, the editors' schema, the coefficient library.
#include "bindings/bind.hpp"
#include "libsim/model/staff/task.hpp"
#include "libsim/run/scenario.hpp"
#include "libsim/scenario/reference.hpp"

namespace farrowtide {
namespace py = pybind11;
namespace {

py::dict costs_of_lateness() {
  py::dict costs;
  for (std::size_t kind = 0; kind < task_kind_count; ++kind) {
    const auto task = static_cast<TaskKind>(kind);
    costs[py::str(std::string(name(task)))] = std::string(cost_of_lateness(task));
  }
  return costs;
}

}  // namespace

void bind_reference(py::module_& module) {
  py::class_<Coefficient>(module, "Coefficient",
                          "A number of the model: `value` has one entry, or one per place of a table.")
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

  module.def(
      "explain", [](const std::string& key) { return explain(scenario_declaration(), key); }, py::arg("key"));
  module.def("json_schema", [] { return json_schema(scenario_declaration(), "farrowtide scenario"); });
  module.def("costs_of_lateness", &costs_of_lateness,
             "Task -> what lateness costs the animals in the model, in words; empty where it is only reported.");
  module.def("key_reference", [] { return markdown_reference(scenario_declaration()); });
}

}  // namespace farrowtide
