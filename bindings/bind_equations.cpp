// Single equations that a user can ask by themselves, without a room.
#include "bindings/bind.hpp"
#include "libsim/model/room/psychrometrics.hpp"
#include "libsim/model/sow/energy_balance.hpp"

namespace farrowtide {
namespace py = pybind11;

void bind_equations(py::module_& module) {
  module.def(
      "lactation_weight_change_kg",
      [](const Coefficients& coefficients, double weight_kg, double piglets, double gain_g_per_day,
         double feed_kg_per_day, int lactation_d) {
        return LactationMeanBalance(coefficients)(weight_kg, piglets, gain_g_per_day, feed_kg_per_day,
                                                  Diet::standard(coefficients), lactation_d);
      },
      py::arg("coefficients"), py::arg("weight_kg"), py::arg("piglets"), py::arg("gain_g_per_day"),
      py::arg("feed_kg_per_day"), py::arg("lactation_d"),
      "Change of a sow's weight over a lactation from its means, waste included in the feed (NRC 2012).");

  py::class_<Psychrometrics>(module, "Psychrometrics", "Moist air at the pressure of the coefficients.")
      .def(py::init<const Coefficients&>(), py::arg("coefficients"))
      .def("humidity_ratio", &Psychrometrics::humidity_ratio, py::arg("deg_c"), py::arg("relative_humidity_percent"),
           "Water per dry air [kg/kg].")
      .def("wet_bulb_deg_c", &Psychrometrics::wet_bulb_deg_c, py::arg("deg_c"), py::arg("relative_humidity_percent"));
}

}  // namespace farrowtide
