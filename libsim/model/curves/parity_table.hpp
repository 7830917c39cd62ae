#pragma once

#include <algorithm>
#include <string_view>
#include <vector>

#include "libsim/kernel/errors.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// A coefficient by parity, from parity 1; the last entry applies to that parity and all later ones.
/// Equation:
///   table [unit of the table] = value[min(parity, last)]
/// Where: parity [-] of the sow, from 1; value [unit of the table] its entries; last [-] parity of the last entry
/// Valid: parity 1 and later
/// Source: rule for reading tables
class ParityTable {
 public:
  ParityTable(const Coefficients& coefficients, std::string_view path, std::string_view unit)
      : values_(coefficients.table(path, unit)) {}

  double operator[](int parity) const {
    if (parity < 1) throw InternalError("a sow in the farrowing room has parity 1 or more");
    return values_[std::min(static_cast<std::size_t>(parity), values_.size()) - 1];
  }

 private:
  std::vector<double> values_;
};

}  // namespace farrowtide
