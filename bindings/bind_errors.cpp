// The two kinds of error as Python exceptions: mistakes in the input (UserError), faults of ours (InternalError).
#include "bindings/bind.hpp"
#include "libsim/scenario/mistakes.hpp"

namespace farrowtide {
namespace py = pybind11;
namespace {

// The exception types live as long as the module, which holds them; the translator looks them up there.
py::object error_type(const char* name) { return py::module_::import("farrowtide._core").attr(name); }

void raise_scenario_error(const ScenarioError& error) {
  py::object raised = error_type("ScenarioError")(error.what());
  raised.attr("mistakes") = py::tuple(py::cast(error.mistakes()));
  PyErr_SetObject(error_type("ScenarioError").ptr(), raised.ptr());
}

void translate(std::exception_ptr thrown) {
  try {
    if (thrown) std::rethrow_exception(thrown);
  } catch (const ScenarioError& error) {
    raise_scenario_error(error);
  } catch (const UserError& error) {
    PyErr_SetString(error_type("UserError").ptr(), error.what());
  } catch (const StoppedByUser&) {
    PyErr_SetNone(PyExc_KeyboardInterrupt);
  } catch (const InternalError& error) {
    PyErr_SetString(error_type("InternalError").ptr(), error.what());
  }
}

void add_exception(py::module_& module, const char* name, const char* doc, const py::object& base,
                   py::dict members = {}) {
  const std::string qualified = std::string("farrowtide.") + name;
  module.attr(name) =
      py::reinterpret_steal<py::object>(PyErr_NewExceptionWithDoc(qualified.c_str(), doc, base.ptr(), members.ptr()));
}

}  // namespace

void bind_errors(py::module_& module) {
  py::class_<Mistake>(
      module, "Mistake",
      "One mistake in a scenario and its place. `line` and `column` count from 1; 0 means that there is none.")
      .def_readonly("source", &Mistake::source)
      .def_readonly("line", &Mistake::line)
      .def_readonly("column", &Mistake::column)
      .def_readonly("key", &Mistake::key)
      .def_readonly("value", &Mistake::value)
      .def_readonly("problem", &Mistake::problem)
      .def_readonly("allowed", &Mistake::allowed)
      .def_readonly("suggestion", &Mistake::suggestion)
      .def_readonly("excerpt", &Mistake::excerpt)
      .def("__str__", &one_line)
      .def("with_excerpt", &with_excerpt);

  const py::module_ builtins = py::module_::import("builtins");
  add_exception(module, "UserError", "A mistake in the input; the message says what is wrong and where.",
                builtins.attr("ValueError"));
  py::dict members;
  members["mistakes"] = py::tuple();
  add_exception(module, "ScenarioError", "A scenario has mistakes; `mistakes` lists all of them.",
                module.attr("UserError"), members);
  add_exception(module, "InternalError", "A fault of the engine. Please report it.", builtins.attr("RuntimeError"));
  py::register_exception_translator(&translate);
}

}  // namespace farrowtide
