#include "libsim/model/sow/diet.hpp"

namespace farrowtide {

Diet Diet::standard(const Coefficients& coefficients) {
  return {.energy_mcal_per_kg = coefficients.number("sow.diet.metabolisable_energy", "kcal/kg") / 1000,
          .total_lysine_g_per_kg = coefficients.number("sow.diet.total_lysine", "g/kg")};
}

}  // namespace farrowtide
