#pragma once

#include <array>

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// What staff look for in a sow after farrowing; temperature is measured, see RectalTemperature.
enum class Sign { temperature, nursing, not_eaten_or_drunk, udder, legs };

/// Whether the sow has what the sign points to: leg trouble for legs, a post-partum disorder for the others.
enum class Condition { absent, present };

/// Sensitivity and specificity of one daily look (assumed; 0.68 for piglet behaviour in one 202-sow study).
class Signs {
 public:
  explicit Signs(const Coefficients& coefficients);
  /// Probability that one look sees the sign. Not for Sign::temperature.
  double probability(Sign sign, Condition condition) const;
  bool seen(Sign sign, Condition condition, double uniform) const { return uniform < probability(sign, condition); }

 private:
  struct Look {
    double sensitivity, specificity;
  };
  std::array<Look, 4> looks_;  ///< from Sign::nursing on
};

}  // namespace farrowtide
