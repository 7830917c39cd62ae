#include "libsim/model/curves/knot_curve.hpp"

#include <algorithm>
#include <cstddef>
#include <functional>
#include <utility>

#include "libsim/kernel/errors.hpp"

namespace farrowtide {

KnotCurve::KnotCurve(std::vector<double> at, std::vector<double> values)
    : at_(std::move(at)), values_(std::move(values)) {
  if (at_.empty() || at_.size() != values_.size()) throw InternalError("a curve needs as many values as knots");
  const bool rising = std::adjacent_find(at_.begin(), at_.end(), std::greater_equal<>{}) == at_.end();
  if (!rising) throw InternalError("the knots of a curve must be in rising order");
}

KnotCurve::KnotCurve(const Coefficients& coefficients, const std::string& path, const std::string& unit)
    : KnotCurve(coefficients.axis(path), coefficients.table(path, unit)) {}

double KnotCurve::operator()(double x) const {
  if (x <= at_.front()) return values_.front();
  if (x >= at_.back()) return values_.back();
  const auto right = static_cast<std::size_t>(std::upper_bound(at_.begin(), at_.end(), x) - at_.begin());
  const std::size_t left = right - 1;
  const double way = (x - at_[left]) / (at_[right] - at_[left]);
  return values_[left] + way * (values_[right] - values_[left]);
}

}  // namespace farrowtide
