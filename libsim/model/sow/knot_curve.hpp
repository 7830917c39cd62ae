#pragma once

#include <string>
#include <vector>

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// A curve given by knots: linear between them, flat outside them.
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
