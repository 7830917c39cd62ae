#include "libsim/scenario/node.hpp"

#include <algorithm>

namespace farrowtide {
namespace {

constexpr std::size_t longest_shown = 60;
constexpr std::size_t longest_excerpt = 400;

bool continues_a_character(char c) { return (static_cast<unsigned char>(c) & 0xC0) == 0x80; }

std::string cut(std::string_view text) {
  const std::string_view line = text.substr(0, text.find('\n'));
  if (line.size() <= longest_shown) return std::string(line) + (line.size() < text.size() ? " ..." : "");
  std::size_t end = longest_shown;
  while (end > 0 && continues_a_character(line[end])) --end;
  return std::string(line.substr(0, end)) + "...";
}

}  // namespace

Source::Source(std::string source_name, std::string source_text)
    : name(std::move(source_name)), text(std::move(source_text)), line_starts{0} {
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '\n') line_starts.push_back(i + 1);
  }
}

std::string_view Source::line(int number) const {
  if (number < 1 || static_cast<std::size_t>(number) > line_starts.size()) return {};
  std::string_view line = std::string_view(text).substr(line_starts[static_cast<std::size_t>(number) - 1]);
  line = line.substr(0, line.find('\n'));
  if (line.ends_with('\r')) line.remove_suffix(1);
  return line;
}

const Node::Entry* Node::find(std::string_view key) const {
  const auto entry = std::find_if(entries.begin(), entries.end(), [&](const Entry& other) { return other.key == key; });
  return entry == entries.end() ? nullptr : &*entry;
}

std::vector<std::string> Node::keys() const {
  std::vector<std::string> names;
  for (const Entry& entry : entries) names.push_back(entry.key);
  return names;
}

std::string shown(const Node& node) {
  switch (node.kind) {
    case Node::Kind::empty:
      return "";
    case Node::Kind::list:
      return "[...]";
    case Node::Kind::mapping:
      return "{...}";
    case Node::Kind::scalar:
      break;
  }
  return node.quoted ? '"' + cut(node.text) + '"' : cut(node.text);
}

std::string kind_words(Node::Kind kind) {
  return kind == Node::Kind::list ? "a list" : kind == Node::Kind::mapping ? "a mapping of keys" : "a single value";
}

Mistake mistake_at(const Place& place, std::string key, std::string value, std::string problem, std::string allowed,
                   std::string suggestion) {
  Mistake mistake{.source = place.source ? place.source->name : "",
                  .line = place.line,
                  .key = std::move(key),
                  .value = std::move(value),
                  .problem = std::move(problem),
                  .allowed = std::move(allowed),
                  .suggestion = std::move(suggestion)};
  if (!place.source || place.line == 0) return mistake;
  const std::string_view line = place.source->line(place.line);
  const std::size_t bytes = std::min(line.size(), static_cast<std::size_t>(std::max(place.column - 1, 0)));
  const auto continuing =
      std::count_if(line.begin(), line.begin() + static_cast<std::ptrdiff_t>(bytes), continues_a_character);
  mistake.column = static_cast<int>(bytes) - static_cast<int>(continuing) + 1;
  if (line.size() <= longest_excerpt) mistake.excerpt = line;
  std::replace(mistake.excerpt.begin(), mistake.excerpt.end(), '\t', ' ');
  return mistake;
}

}  // namespace farrowtide
