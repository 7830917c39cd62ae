#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Nutrient content per kilogram of lactation diet.
struct Diet {
  double energy_mcal_per_kg;     ///< metabolisable energy [Mcal/kg]
  double total_lysine_g_per_kg;  ///< total lysine [g/kg]

  static Diet standard(const Coefficients& coefficients);
};

}  // namespace farrowtide
