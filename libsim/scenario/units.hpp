// Units a value may be written in, converted once at the border to the unit the model works in.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace farrowtide {

// The value in `to` of a number written in `from`; nothing where one can't be turned into the other.
// degC and degF are temperatures, K is a difference: for a declared K, degC and degF are read as differences;
// for a declared degC, K is refused. A unit outside the table is equal only to itself.
std::optional<double> convert(double value, std::string_view from, std::string_view to);

// Units offered in messages for a declared unit, the declared one first: "kg/d" -> kg/d, g/d, lb/d, oz/d.
std::vector<std::string> units_like(std::string_view unit);

}  // namespace farrowtide
