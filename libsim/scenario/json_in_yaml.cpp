#include "libsim/scenario/json_in_yaml.hpp"

#include <algorithm>
#include <charconv>
#include <cstdio>
#include <optional>
#include <tuple>

namespace farrowtide {
namespace {

constexpr std::size_t longest_plain_key = 1000;  // bytes between its quotes; YAML's limit is 1,024 letters
constexpr std::size_t escape_length = 6;         // of "\ud83d"

std::optional<unsigned> escaped_unit(std::string_view text, std::size_t at) {
  if (text.substr(at, 2) != "\\u" || text.size() < at + escape_length) return {};
  unsigned unit = 0;
  const char* const digits = text.data() + at + 2;
  const auto [end, error] = std::from_chars(digits, digits + 4, unit, 16);
  return error == std::errc{} && end == digits + 4 ? std::optional(unit) : std::nullopt;
}

std::optional<unsigned> escaped_pair(std::string_view text, std::size_t at) {
  const std::optional<unsigned> high = escaped_unit(text, at);
  if (!high || *high < 0xD800 || *high > 0xDBFF) return {};
  const std::optional<unsigned> low = escaped_unit(text, at + escape_length);
  if (!low || *low < 0xDC00 || *low > 0xDFFF) return {};
  return 0x10000 + ((*high - 0xD800) << 10) + (*low - 0xDC00);
}

// The offset of the closing quote of a string that opens at `start`; the end of the text if it is never closed.
std::size_t closing_quote(std::string_view text, std::size_t start) {
  std::size_t at = start + 1;
  while (at < text.size() && text[at] != '"') at += text[at] == '\\' ? 2 : 1;
  return std::min(at, text.size());
}

}  // namespace

JsonInYaml::JsonInYaml(std::string_view text) {
  const std::size_t first = text.find_first_not_of(" \t\r\n");
  if (first == std::string_view::npos || text[first] != '{') {
    text_ = text;
    return;
  }
  text_.reserve(text.size());
  for (std::size_t at = 0; at < text.size();) {
    if (text[at] == '"') {
      at = rewrite_string(text, at);
      continue;
    }
    text_ += text[at];
    if (text[at++] == '\n') ++line_, line_start_ = text_.size(), original_line_start_ = at;
  }
}

// Copies the string that opens at `start`; returns the offset behind its closing quote.
std::size_t JsonInYaml::rewrite_string(std::string_view text, std::size_t start) {
  const std::size_t end = closing_quote(text, start);
  const std::size_t next = text.find_first_not_of(" \t\r\n", std::min(end + 1, text.size()));
  if (end - start > longest_plain_key && next != std::string_view::npos && text[next] == ':') {
    text_ += "? ";
    shifted(start);
  }
  for (std::size_t at = start; at < std::min(end + 1, text.size());) {
    if (const std::optional<unsigned> letter = escaped_pair(text, at)) {
      char escape[11];
      std::snprintf(escape, sizeof escape, "\\U%08X", *letter);
      text_ += escape;
      at += 2 * escape_length;
      shifted(at);
    } else {
      const std::size_t length = text[at] == '\\' && at + 1 < text.size() ? 2 : 1;
      text_ += text.substr(at, length);
      at += length;
    }
  }
  return std::min(end + 1, text.size());
}

void JsonInYaml::shifted(std::size_t original_offset) {
  const auto from = static_cast<int>(text_.size() - line_start_);
  shifts_.push_back({line_, from, static_cast<int>(original_offset - original_line_start_) - from});
}

int JsonInYaml::column(int line, int column) const {
  const auto after = std::upper_bound(
      shifts_.begin(), shifts_.end(), std::tuple(line, column),
      [](const auto& place, const Shift& shift) { return place < std::tuple(shift.line, shift.from); });
  if (after == shifts_.begin() || std::prev(after)->line != line) return column;
  return column + std::prev(after)->by;
}

}  // namespace farrowtide
