// The coefficient files as they were when the library was built.
#pragma once

#include <span>
#include <string_view>

namespace farrowtide {

struct EmbeddedFile {
  std::string_view name;  // "sow.yaml"
  std::string_view text;
};

// One entry per file of libsim/coefficients, in a fixed order.
std::span<const EmbeddedFile> embedded_coefficient_files();

}  // namespace farrowtide
