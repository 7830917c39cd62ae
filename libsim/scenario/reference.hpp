// The declarations of a reading turned into documents: key tables, a schema for editors, explanations.
#pragma once

#include <string>
#include <string_view>

#include "libsim/scenario/declaration.hpp"

namespace farrowtide {

// One Markdown table for each mapping: key, unit, default, allowed values, meaning.
std::string markdown_reference(const Declaration& root);

// JSON Schema, draft 2020-12; unknown keys are refused, each policy kind admits its own.
std::string json_schema(const Declaration& root, std::string_view title);

// Meaning, unit, default, allowed values, source and grade of a dotted key ("list.0.key" as well). An unknown key
// throws UserError with a suggestion.
std::string explain(const Declaration& root, std::string_view key);

}  // namespace farrowtide
