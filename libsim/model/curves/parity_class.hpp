#pragma once

#include <cstddef>

namespace farrowtide {

/// Position of a parity on the axis "parity_class" of the coefficients: 1, 2-4, 5 and later.
constexpr std::size_t parity_class(int parity) { return parity == 1 ? 0 : parity <= 4 ? 1 : 2; }

}  // namespace farrowtide
