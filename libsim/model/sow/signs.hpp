#pragma once

#include <array>

#include "libsim/policy/care/care.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Whether the sow has the condition that the sign indicates: leg problems for legs, a post-partum disorder for the
/// rest.
enum class Condition { absent, present };

/// Sensitivity and specificity of one daily visual check.
/// Equation:
///   p [-] = sensitivity if 'she has the condition the sign indicates', else 1 - specificity
///   sensitivity [-] = nursing_sensitivity, not_eaten_or_drunk_sensitivity, udder_sensitivity 'or' legs_sensitivity
///   specificity [-] = nursing_specificity, not_eaten_or_drunk_specificity, udder_specificity 'or' legs_specificity
///   seen if uniform < p
/// Where: seen [-] the sign is seen; uniform [-] uniform draw between 0 and 1, one per check
/// Valid: one check a day; temperature is measured, see RectalTemperature
/// Source: assumption (sensitivity 0.68 for piglet behaviour in one 202-sow study)
class Signs {
 public:
  explicit Signs(const Coefficients& coefficients);
  /// Probability that the sign is seen at one check. Not for Sign::temperature.
  double probability(Sign sign, Condition condition) const;
  bool seen(Sign sign, Condition condition, double uniform) const { return uniform < probability(sign, condition); }

 private:
  struct Look {
    double sensitivity, specificity;
  };
  std::array<Look, 4> looks_;  ///< starting with Sign::nursing
};

}  // namespace farrowtide
