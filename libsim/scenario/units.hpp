// Units in which a value may be written; converted once, on input, to the unit that the model uses.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace farrowtide {

// A value in `from`, converted to `to`; empty if the units are not convertible.
// degC and degF are temperatures, K is a difference: for a declared K, degC and degF are read as differences;
// for a declared degC, K is rejected. A unit outside the table is equal only to itself.
std::optional<double> convert(double value, std::string_view from, std::string_view to);

// Units offered in messages for a declared unit, the declared one first: "kg/d" -> kg/d, g/d, lb/d, oz/d.
std::vector<std::string> units_like(std::string_view unit);

}  // namespace farrowtide
