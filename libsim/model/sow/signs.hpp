#pragma once

#include <array>

#include "libsim/policy/care/care.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Whether the sow has what the sign points to: leg trouble for legs, a post-partum disorder for the others.
enum class Condition { absent, present };

/// Sensitivity and specificity of one daily look.
/// Equation:
///   p [-] = sensitivity if 'she has what the sign points to', else 1 - specificity
///   sensitivity [-] = nursing_sensitivity, not_eaten_or_drunk_sensitivity, udder_sensitivity 'or' legs_sensitivity
///   specificity [-] = nursing_specificity, not_eaten_or_drunk_specificity, udder_specificity 'or' legs_specificity
///   seen if uniform < p
/// Where: seen [-] the sign; uniform [-] draw in 0-1, of the look
/// Valid: one look a day; temperature is measured, see RectalTemperature
/// Source: assumption (0.68 for piglet behaviour in one 202-sow study)
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
