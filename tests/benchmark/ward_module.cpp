// The reduced ward of ward.cpp for Python. ward.py builds it on demand; it is no part of the package.
#include <pybind11/functional.h>
#include <pybind11/pybind11.h>

#include "tests/benchmark/ward.hpp"

namespace farrowtide::ward {
namespace py = pybind11;
namespace {

Settings settings_from(const py::object& given) {
  const auto number = [&](const char* name) { return given.attr(name).cast<double>(); };
  const auto count = [&](const char* name) { return given.attr(name).cast<int>(); };
  return {.sows = count("sows"),
          .onset_mean_h = number("onset_mean_h"),
          .onset_sd_h = number("onset_sd_h"),
          .piglets_mean = number("piglets_mean"),
          .birth_gap_mean_min = number("birth_gap_mean_min"),
          .attendants = count("attendants"),
          .round_every_min = number("round_every_min"),
          .on_duty_from_h = number("on_duty_from_h"),
          .on_duty_until_h = number("on_duty_until_h"),
          .help_after_min = number("help_after_min"),
          .help_mean_min = number("help_mean_min")};
}

/// Replicates 0, 1, ... as tuples in the order of Outcome; with the built-in policy where none is given.
py::list simulate_wards(const py::object& given, int wards, std::uint64_t seed, const Policy& own_policy) {
  const Settings settings = settings_from(given);
  const Policy policy = own_policy ? own_policy : help_after(settings.help_after_min);
  py::list outcomes;
  for (int replicate = 0; replicate < wards; ++replicate) {
    const Outcome found = simulate(settings, policy, seed, static_cast<std::uint32_t>(replicate));
    outcomes.append(py::make_tuple(found.farrowing_mean_min, found.helps, found.busy_min, found.help_wait_mean_min));
  }
  return outcomes;
}

}  // namespace

PYBIND11_MODULE(compiled_ward, module) {
  py::class_<View>(module, "View")
      .def_readonly("since_last_birth_min", &View::since_last_birth_min)
      .def_readonly("born", &View::born);
  module.def("simulate", &simulate_wards, py::arg("settings"), py::arg("wards"), py::arg("seed"),
             py::arg("policy") = py::none());
}

}  // namespace farrowtide::ward
