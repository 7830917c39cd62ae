// Scenarios: parsed, checked and overridden by the engine; Python hands over text and gets immutable objects.
#include "bindings/bind.hpp"
#include "libsim/model/farm.hpp"
#include "libsim/run/scenario.hpp"
#include "libsim/scenario/reference.hpp"

namespace farrowtide {
namespace py = pybind11;
namespace {

// Values come as JSON, which the engine's one YAML reader reads too.
std::vector<Override> parse_overrides(const std::vector<std::pair<std::string, std::string>>& values) {
  std::vector<Override> overrides;
  for (const auto& [path, json] : values) overrides.push_back(parse_override(path, json));
  return overrides;
}

const Variation& find_variation(const std::vector<Variation>& variations, const std::string& name, const char* kind) {
  std::vector<std::string> names;
  for (const Variation& variation : variations) {
    if (variation.name == name) return variation;
    names.push_back(variation.name);
  }
  const std::string nearest = closest(name, names);
  throw UserError(std::string("no ") + kind + " is called '" + name + "'" +
                  (nearest.empty() ? "" : " (did you mean '" + nearest + "'?)"));
}

std::vector<std::string> names_of(const std::vector<Variation>& variations) {
  std::vector<std::string> names;
  for (const Variation& variation : variations) names.push_back(variation.name);
  return names;
}

}  // namespace

void bind_scenario(py::module_& module) {
  py::class_<StudySettings>(module, "StudySettings")
      .def_readonly("replications", &StudySettings::replications)
      .def_readonly("seed", &StudySettings::seed)
      .def_readonly("reference", &StudySettings::reference)
      .def_readonly("outputs", &StudySettings::outputs);

  py::class_<Scenario>(module, "Scenario")
      .def_static("parse", &Scenario::parse, py::arg("text"), py::arg("source_name"))
      .def_static("load", &Scenario::load, py::arg("path"))
      .def(
          "override",
          [](const Scenario& self, const std::vector<std::pair<std::string, std::string>>& values) {
            return self.with_overrides(parse_overrides(values));
          },
          py::arg("values"))
      .def(
          "alternative",
          [](const Scenario& self, const std::string& name) {
            return self.with_overrides(find_variation(self.alternatives(), name, "alternative").overrides);
          },
          py::arg("name"))
      .def(
          "case",
          [](const Scenario& self, const std::string& name) {
            return self.with_overrides(find_variation(self.cases(), name, "case").overrides);
          },
          py::arg("name"))
      .def("with_coefficients", &Scenario::with_coefficients, py::arg("coefficients"))
      .def_property_readonly("title", &Scenario::title)
      .def_property_readonly("question", &Scenario::question)
      .def_property_readonly("source_name", &Scenario::source_name)
      .def_property_readonly("hash", &Scenario::hash)
      .def_property_readonly("coefficients", &Scenario::coefficients)
      .def_property_readonly("staffed_minutes", [](const Scenario& self) { return planned_staff_minutes(self.room()); })
      .def_property_readonly("study", &Scenario::study)
      .def_property_readonly("alternatives", [](const Scenario& self) { return names_of(self.alternatives()); })
      .def_property_readonly("cases", [](const Scenario& self) { return names_of(self.cases()); });
}

}  // namespace farrowtide
