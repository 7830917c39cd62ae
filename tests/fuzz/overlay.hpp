// What must hold for every text whatever that is read as an overlay of the coefficient library.
#pragma once

#include <algorithm>
#include <cmath>
#include <string>

#include "libsim/model/biology.hpp"
#include "libsim/scenario/coefficients.hpp"
#include "tests/fuzz/reading.hpp"

namespace farrowtide {

inline bool within_built_in_ranges(const Coefficients& overlaid) {
  const Coefficients built_in = Coefficients::built_in();
  for (std::size_t i = 0; i < overlaid.size(); ++i) {
    for (std::size_t entry = 0; entry < overlaid[i].value.size(); ++entry) {
      const double value = overlaid[i].value[entry];
      if (value < built_in[i].low[entry] || value > built_in[i].high[entry]) return false;
    }
  }
  return true;
}

// "" or what does not hold.
inline std::string breach_in_overlay(const std::string& text) {
  return breach_in(text, [&] {
    const Coefficients built_in = Coefficients::built_in();
    const Coefficients overlaid = built_in.with_overlay(text, "text");
    if (overlaid.paths() != built_in.paths())
      throw InternalError("an overlay that changes which coefficients there are");
    for (std::size_t i = 0; i < overlaid.size(); ++i) {
      if (overlaid[i].value.size() != built_in[i].value.size()) throw InternalError("an overlay of another length");
      if (!std::ranges::all_of(overlaid[i].value, [](double value) { return std::isfinite(value); }))
        throw InternalError("an overlay that is not finite");
    }
    if (overlaid.with_overlay(text, "text").hash() != overlaid.hash()) throw InternalError("twice is not as once");
    if (within_built_in_ranges(overlaid)) static_cast<void>(Biology{overlaid});
  });
}

}  // namespace farrowtide
