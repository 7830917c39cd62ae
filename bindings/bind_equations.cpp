// Single equations, which can be evaluated without a room.
#include "bindings/bind.hpp"
#include "libsim/model/litter/colostrum.hpp"
#include "libsim/model/room/animal_heat.hpp"
#include "libsim/model/room/psychrometrics.hpp"
#include "libsim/model/sow/after_weaning.hpp"
#include "libsim/model/sow/energy_balance.hpp"
#include "libsim/model/sow/milk.hpp"

namespace farrowtide {
namespace py = pybind11;
namespace {

double late_share(const Coefficients& coefficients, int parity, double piglets, double intake_kg_per_day,
                  double lactation_length_d, double weight_loss_percent) {
  LactationPast sow;
  sow.parity = parity;
  sow.piglets = piglets;
  sow.intake_kg_per_day = intake_kg_per_day;
  sow.lactation_length_d = lactation_length_d;
  sow.weight_loss_pct = weight_loss_percent;
  const auto shares = WeaningToOestrus(coefficients).class_shares(sow);
  return shares[4] + shares[5] + shares[6];
}

void bind_heat_and_milk(py::module_& module) {
  module.def(
      "sensible_heat_share",
      [](const Coefficients& c, double temperature_deg_c) { return SensibleShare(c)(temperature_deg_c); },
      py::arg("coefficients"), py::arg("temperature_deg_c"),
      "Sensible share (0 to 1) of animal heat at a room temperature.");
  module.def(
      "sow_heat_w",
      [](const Coefficients& c, double energy_eaten_mcal, double body_energy_change_mcal, double milk_mcal) {
        return SowHeat(c)(energy_eaten_mcal, body_energy_change_mcal, milk_mcal);
      },
      py::arg("coefficients"), py::arg("energy_eaten_mcal"), py::arg("body_energy_change_mcal"), py::arg("milk_mcal"),
      "Mean heat production of a sow over a day [W], from energies of that day [Mcal].");
  module.def(
      "litter_heat_w",
      [](const Coefficients& c, double piglets, double piglet_weight_kg, double milk_mcal) {
        return LitterHeat(c)(piglets, piglet_weight_kg, milk_mcal);
      },
      py::arg("coefficients"), py::arg("piglets"), py::arg("piglet_weight_kg"), py::arg("milk_mcal"),
      "Mean heat production of a litter over a day [W], from piglet weight [kg] and milk energy of that day [Mcal].");
  module.def(
      "milk_curve",
      [](const Coefficients& c, int lactation_day, int lactation_d) {
        return LactationCurve(c, lactation_d)(lactation_day);
      },
      py::arg("coefficients"), py::arg("lactation_day"), py::arg("lactation_d"),
      "Milk yield on a lactation day relative to the mean of a lactation of this length.");
  module.def("weaning_to_oestrus_late_share", &late_share, py::arg("coefficients"), py::arg("parity"),
             py::arg("piglets"), py::arg("intake_kg_per_day"), py::arg("lactation_length_d"),
             py::arg("weight_loss_percent"), "Probability (0 to 1) of a weaning-to-oestrus interval longer than 6 d.");
}

void bind_colostrum(py::module_& module) {
  module.def(
      "colostrum_intake_theil_g",
      [](const Coefficients& c, double birth_weight_kg, double gain_g, double suckled_min) {
        return TheilIntake(c)(birth_weight_kg, gain_g, suckled_min);
      },
      py::arg("coefficients"), py::arg("birth_weight_kg"), py::arg("gain_g"), py::arg("suckled_min"),
      "Colostrum intake of a piglet [g], on the scale of deuterium dilution (Theil).");
  module.def(
      "colostrum_intake_devillers_g",
      [](const Coefficients& c, double birth_weight_kg, double gain_g, double age_min, double first_suck_min) {
        return DevillersIntake(c)(birth_weight_kg, gain_g, age_min, first_suck_min);
      },
      py::arg("coefficients"), py::arg("birth_weight_kg"), py::arg("gain_g"), py::arg("age_min"),
      py::arg("first_suck_min"), "Colostrum intake of a piglet [g], on the scale of bottle-fed piglets (Devillers).");
}

}  // namespace

void bind_equations(py::module_& module) {
  bind_heat_and_milk(module);
  bind_colostrum(module);
  module.def(
      "lactation_weight_change_kg",
      [](const Coefficients& coefficients, double weight_kg, double piglets, double gain_g_per_day,
         double feed_kg_per_day, int lactation_d) {
        return LactationMeanBalance(coefficients)(weight_kg, piglets, gain_g_per_day, feed_kg_per_day,
                                                  Diet::standard(coefficients), lactation_d);
      },
      py::arg("coefficients"), py::arg("weight_kg"), py::arg("piglets"), py::arg("gain_g_per_day"),
      py::arg("feed_kg_per_day"), py::arg("lactation_d"),
      "Change of a sow's weight over a lactation [kg] from the means of the lactation (NRC 2012). The feed includes "
      "waste.");

  py::class_<Psychrometrics>(module, "Psychrometrics",
                             "Properties of moist air at the air pressure given by the coefficients.")
      .def(py::init<const Coefficients&>(), py::arg("coefficients"))
      .def("humidity_ratio", &Psychrometrics::humidity_ratio, py::arg("deg_c"), py::arg("relative_humidity_percent"),
           "Water per dry air [kg/kg] at a temperature [degC] and relative humidity [%].")
      .def("wet_bulb_deg_c", &Psychrometrics::wet_bulb_deg_c, py::arg("deg_c"), py::arg("relative_humidity_percent"),
           "Wet-bulb temperature [degC] at a temperature [degC] and relative humidity [%].");
}

}  // namespace farrowtide
