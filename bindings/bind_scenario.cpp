// Scenarios: parsed, checked and overridden by the engine. Python passes text and receives immutable objects.
#include "bindings/own_policies.hpp"
#include "libsim/model/farm.hpp"
#include "libsim/run/scenario.hpp"

namespace farrowtide {
namespace py = pybind11;
namespace {

// Values come as JSON, which the engine's YAML parser also accepts.
std::vector<Override> parse_overrides(const std::vector<std::pair<std::string, std::string>>& values) {
  std::vector<Override> overrides;
  for (const auto& [path, json] : values) overrides.push_back(parse_override(path, json));
  return overrides;
}

std::vector<std::string> names_of(const std::vector<Variation>& variations) {
  std::vector<std::string> names;
  for (const Variation& variation : variations) names.push_back(variation.name);
  return names;
}

// A sentence about the chosen policy of each family.
std::map<std::string, std::string> policies_in_words(const Scenario& scenario) {
  const FarmSettings& farm = scenario.farm();
  return {{"loading", farm.loading->describe()},       {"feeding", farm.feeding->describe()},
          {"water", farm.water->describe()},           {"temperature", farm.temperature->describe()},
          {"attendance", farm.attendance->describe()}, {"care", farm.care->describe()},
          {"fostering", farm.fostering->describe()},   {"handling", farm.handling->describe()}};
}

// The lowest and the highest set point of each day of the group that is run, without the effect of the weather. Empty
// where the climate is imposed.
std::map<int, std::pair<double, double>> set_points_by_day(const Scenario& scenario) {
  const FarmSettings& farm = scenario.farm();
  std::map<int, std::pair<double, double>> by_day;
  if (farm.climate.kind == ClimateKind::imposed) return by_day;
  const int before = farm.loading->days_before_due();
  for (int day = -before; day <= farm.weaning_day() - before; ++day) {
    std::array<double, 24> deg_c{};
    for (int hour = 0; hour < 24; ++hour) {
      deg_c[static_cast<std::size_t>(hour)] =
          farm.temperature->set_point_deg_c({.group_day = day, .hour = hour, .deep_pit = farm.equipment.deep_pit});
    }
    const auto [lowest, highest] = std::ranges::minmax(deg_c);
    by_day[day] = {lowest, highest};
  }
  return by_day;
}

std::map<std::string, int> farm_in_numbers(const Scenario& scenario) {
  const FarmSettings& farm = scenario.farm();
  const BatchSchedule& schedule = farm.schedule;
  return {{"rooms", schedule.rooms},
          {"rooms_per_group", schedule.rooms_per_group},
          {"groups", schedule.groups},
          {"group_every_days", schedule.group_every_days},
          {"lead_in_groups", schedule.lead_in_groups(farm.last_day())},
          {"lead_out_groups", schedule.lead_out_groups(farm.last_day())},
          {"sows_per_room", farm.sows()}};
}

}  // namespace

void bind_scenario(py::module_& module) {
  py::class_<StudySettings>(module, "StudySettings", "The study settings of a scenario.")
      .def_readonly("replications", &StudySettings::replications, "Number of replications.")
      .def_readonly("seed", &StudySettings::seed, "Seed of the random numbers.")
      .def_readonly("reference", &StudySettings::reference, "The alternative that others are compared with.")
      .def_readonly("outputs", &StudySettings::outputs, "Names of the headline outputs; empty for the default ones.")
      .def_readonly("parts", &StudySettings::parts, "The alternatives that are practices of a programme.");

  py::class_<CostOfChange>(module, "CostOfChange", "What it costs to change to an alternative.")
      .def_readonly("per_crate", &CostOfChange::per_crate, "Spent for each crate.")
      .def_readonly("per_crate_and_year", &CostOfChange::per_crate_and_year, "Spent for each crate every year.")
      .def_readonly("once", &CostOfChange::once, "Spent for all crates together.")
      .def_readonly("training_hours", &CostOfChange::training_hours, "Hours of training of all staff together.")
      .def_readonly("lasts_years", &CostOfChange::lasts_years, "Years over which what is spent is spread.");

  py::class_<Prices>(module, "Prices", "The prices of a scenario.")
      .def_readonly("currency", &Prices::currency, "Unit of all prices.")
      .def_readonly("given", &Prices::given, "Key and price of everything that has a price.")
      .def_readonly("change", &Prices::change, "What it costs to change to an alternative.")
      .def_readonly("matters_per_litter", &Prices::matters_per_litter, "Smallest difference that matters, if given.");

  py::class_<Scenario>(module, "Scenario", "A checked scenario; farrowtide.Scenario is made of it.")
      .def_static(
          "parse",
          [](std::string text, std::string source_name, const std::vector<py::object>& own_policies) {
            return Scenario::parse(std::move(text), std::move(source_name), catalogues_with(own_policies));
          },
          py::arg("text"), py::arg("source_name"), py::arg("own_policies"))
      .def(
          "override",
          [](const Scenario& self, const std::vector<std::pair<std::string, std::string>>& values) {
            return self.with_overrides(parse_overrides(values));
          },
          py::arg("values"))
      .def("alternative", &Scenario::alternative, py::arg("name"))
      .def("together", &Scenario::together, py::arg("names"))
      .def("without_alternatives", &Scenario::without_alternatives)
      .def("case", &Scenario::in_case, py::arg("name"))
      .def("with_coefficients", &Scenario::with_coefficients, py::arg("coefficients"))
      .def_property_readonly("title", &Scenario::title)
      .def_property_readonly("question", &Scenario::question)
      .def_property_readonly("source_name", &Scenario::source_name)
      .def_property_readonly("hash", &Scenario::hash)
      .def_property_readonly("coefficients", &Scenario::coefficients)
      .def_property_readonly("staffed_minutes", [](const Scenario& self) { return planned_staff_minutes(self.farm()); })
      .def_property_readonly("policies", &policies_in_words)
      .def_property_readonly("set_points_by_day", &set_points_by_day)
      .def_property_readonly("withheld_care", &Scenario::withheld_care)
      .def_property_readonly("farm", &farm_in_numbers)
      .def_property_readonly("crate_turn_days", [](const Scenario& self) { return self.farm().crate_turn_days(); })
      .def_property_readonly("crates", [](const Scenario& self) { return self.farm().equipment.crates; })
      .def_property_readonly("lactation_days", [](const Scenario& self) { return self.farm().group.lactation_days; })
      .def_property_readonly("prices", &Scenario::prices)
      .def_property_readonly("study", &Scenario::study)
      .def_property_readonly("alternatives", [](const Scenario& self) { return names_of(self.alternatives()); })
      .def_property_readonly("cases", [](const Scenario& self) { return names_of(self.cases()); });
}

}  // namespace farrowtide
