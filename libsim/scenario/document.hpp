// A scenario file as written: YAML read strictly, values replaced by overrides, named alternatives.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "libsim/scenario/node.hpp"

namespace farrowtide {

// Replaces the whole value at a dotted path.
struct Override {
  std::string path;  // "feeding.meals.0.at"
  Place place;       // where the path is written
  NodeRef value;
};

// A named set of overrides: what a user can choose (an alternative), or cannot (a case).
struct Variation {
  std::string name;
  std::vector<Override> overrides;
};

// Mistakes that still leave a tree to read (a repeated key, an override that does not fit) are kept for the Reading,
// which reports all of them at once; text that cannot be parsed throws ScenarioError.
class Document {
 public:
  static constexpr std::size_t largest_bytes = 4 << 20;
  static constexpr int deepest = 32;
  static constexpr int most_alias_nodes = 10000;

  static Document from_text(std::string text, std::string source_name);
  static Document from_file(const std::filesystem::path& path);

  // `yaml` is a scalar, list or mapping; missing mappings along the path are created; `list.0.key` addresses entries of
  // lists.
  Document with_override(std::string_view path, std::string_view yaml) const;
  Document with_override(const Override& replacement) const;

  // From a top-level `key: {name: {dotted.key: value, ...}}`, in the order of the file. Mistakes in it throw
  // ScenarioError.
  std::vector<Variation> variations(std::string_view key) const;
  Document with_overrides(const std::vector<Override>& replacements) const;
  Document without(std::string_view top_level_key) const;

  const NodeRef& root() const { return root_; }
  const std::vector<Mistake>& mistakes() const { return mistakes_; }

  std::string canonical() const;  // the same text however the tree is written
  std::string hash() const;       // 64-bit FNV-1a of canonical(), 16 hex digits

 private:
  NodeRef root_;
  std::vector<Mistake> mistakes_;
};

// An override from a text that is a scalar, a list or a mapping; throws ScenarioError if it cannot be read.
Override parse_override(std::string_view path, std::string_view yaml);

// 64-bit FNV-1a as 16 hex digits.
std::string fnv1a_hex(std::string_view text);

}  // namespace farrowtide
