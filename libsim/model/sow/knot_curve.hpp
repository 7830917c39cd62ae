#pragma once

#include <string>
#include <vector>

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// A curve given by knots: linear between them, flat outside them.
/// Equation:
///   knots(x) [unit of the table] = value[k] + (value[k + 1] - value[k]) * (x - at[k]) / (at[k + 1] - at[k])
///   knots(x) [unit of the table] = value[first] if x <= at[first]; value[last] if x >= at[last]
/// Where: at [unit of the axis] the table's axis; value [unit of the table] its entries; first, last [-] its ends; x
///   [unit of the axis] any place; k [-] the knot at or below x
/// Valid: as said where the curve is used
/// Source: rule for reading tables
class KnotCurve {
 public:
  /// Refuses knots that are not in rising order, or that differ in number.
  KnotCurve(std::vector<double> at, std::vector<double> values);
  /// The table at `path` over its own axis.
  KnotCurve(const Coefficients& coefficients, const std::string& path, const std::string& unit);

  double operator()(double x) const;

 private:
  std::vector<double> at_;
  std::vector<double> values_;
};

}  // namespace farrowtide
