#include "libsim/model/settings/diet.hpp"

namespace farrowtide {

DietSettings DietSettings::read(Section& section) {
  DietSettings diet;
  diet.energy_mcal_per_kg = section.number({.name = "energy",
                                            .unit = "kcal/kg",
                                            .low = 2500,
                                            .high = 4000,
                                            .help = "Metabolisable energy content.",
                                            .coefficient = "sow.diet.metabolisable_energy"}) /
                            1000;
  diet.total_lysine_g_per_kg = section.number({.name = "total_lysine",
                                               .unit = "g/kg",
                                               .low = 4,
                                               .high = 16,
                                               .help = "Total lysine content.",
                                               .coefficient = "sow.diet.total_lysine"});
  diet.fibre = section.choice<FibreInDiet>(
      {.name = "fibre", .default_value = "usual", .help = "Fibre content of the diet around farrowing."});
  return diet;
}

}  // namespace farrowtide
