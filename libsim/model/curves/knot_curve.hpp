#pragma once

#include <string>
#include <vector>

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Piecewise linear curve through knots, constant beyond the first and last.
/// Equation:
///   knots(x) [unit of the table] = value[k] + (value[k + 1] - value[k]) * (x - at[k]) / (at[k + 1] - at[k])
///   knots(x) [unit of the table] = value[first] if x <= at[first]; value[last] if x >= at[last]
/// Where: at [unit of the axis] positions of the knots on the table's axis; value [unit of the table] its entries;
///   first, last [-] first and last knot; x [unit of the axis] any position; k [-] the knot at or below x
/// Valid: as stated where the curve is used
/// Source: rule for reading tables
class KnotCurve {
 public:
  /// Throws if the knots are not in ascending order or the two lengths differ.
  KnotCurve(std::vector<double> at, std::vector<double> values);
  /// The table at `path` over its own axis.
  KnotCurve(const Coefficients& coefficients, const std::string& path, const std::string& unit);

  double operator()(double x) const;

 private:
  std::vector<double> at_;
  std::vector<double> values_;
};

}  // namespace farrowtide
