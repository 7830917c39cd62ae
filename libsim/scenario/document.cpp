#include "libsim/scenario/document.hpp"

#include <algorithm>
#include <charconv>
#include <cstdint>
#include <fstream>
#include <optional>
#include <sstream>

#include "libsim/scenario/yaml_tree.hpp"

namespace farrowtide {
namespace {

std::vector<std::string> parts_of(std::string_view path) {
  std::vector<std::string> parts;
  for (std::size_t start = 0;;) {
    const std::size_t dot = path.find('.', start);
    parts.emplace_back(path.substr(start, dot - start));
    if (dot == std::string_view::npos) return parts;
    start = dot + 1;
  }
}

std::shared_ptr<Node> empty_mapping(const Place& place) {
  auto node = std::make_shared<Node>();
  node->kind = Node::Kind::mapping;
  node->place = place;
  return node;
}

// Copies the mappings and lists along the path to the replaced value; everything else is shared with the old tree.
class Replacer {
 public:
  explicit Replacer(const Override& replacement) : replacement_(replacement), parts_(parts_of(replacement.path)) {}

  NodeRef operator()(const NodeRef& root) {
    if (std::find(parts_.begin(), parts_.end(), "") != parts_.end()) {
      return refuse(root, "a part of the path is empty", "names separated by dots");
    }
    if (static_cast<int>(parts_.size()) + replacement_.value->height > Document::deepest) {
      return refuse(root, "values are nested too deeply", "at most " + std::to_string(Document::deepest) + " levels");
    }
    return below(root, 0);
  }

  std::optional<Mistake> mistake;

 private:
  NodeRef below(const NodeRef& node, std::size_t depth) {
    if (depth == parts_.size()) return replacement_.value;
    if (!node || node->kind == Node::Kind::empty) return in_mapping(empty_mapping(replacement_.place), depth);
    if (node->kind == Node::Kind::mapping) return in_mapping(std::make_shared<Node>(*node), depth);
    if (node->kind == Node::Kind::list) return in_list(std::make_shared<Node>(*node), depth);
    return refuse(node, "leads into '" + shown(*node) + "', which is a single value", "");
  }

  NodeRef in_mapping(std::shared_ptr<Node> copy, std::size_t depth) {
    const auto entry = std::find_if(copy->entries.begin(), copy->entries.end(),
                                    [&](const Node::Entry& e) { return e.key == parts_[depth]; });
    if (entry != copy->entries.end()) {
      entry->value = below(entry->value, depth + 1);
      if (depth + 1 == parts_.size()) entry->place = replacement_.place;
    } else {
      copy->entries.push_back({parts_[depth], replacement_.place, below(nullptr, depth + 1)});
    }
    return copy;
  }

  NodeRef in_list(std::shared_ptr<Node> copy, std::size_t depth) {
    const std::string& part = parts_[depth];
    std::size_t index = copy->items.size();
    const auto [end, error] = std::from_chars(part.data(), part.data() + part.size(), index);
    if (error != std::errc{} || end != part.data() + part.size() || index >= copy->items.size()) {
      const std::string last = copy->items.empty() ? "an empty list" : "0 to " + std::to_string(copy->items.size() - 1);
      return refuse(copy, "'" + part + "' is not an entry of the list", last);
    }
    copy->items[index] = below(copy->items[index], depth + 1);
    return copy;
  }

  NodeRef refuse(const NodeRef& unchanged, std::string problem, std::string allowed) {
    mistake = mistake_at(replacement_.place, replacement_.path, shown(*replacement_.value), std::move(problem),
                         std::move(allowed));
    return unchanged;
  }

  const Override& replacement_;
  std::vector<std::string> parts_;
};

void write_text(std::string& out, std::string_view text) {
  out += '"';
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    if (c == '\n')
      out += "\\n";
    else
      out += c;
  }
  out += '"';
}

void write_canonical(std::string& out, const Node& node) {
  switch (node.kind) {
    case Node::Kind::empty:
      out += "null";
      return;
    case Node::Kind::scalar:
      return write_text(out, node.text);
    case Node::Kind::list:
      out += '[';
      for (const NodeRef& item : node.items) {
        write_canonical(out, *item);
        out += ',';
      }
      out += ']';
      return;
    case Node::Kind::mapping:
      break;
  }
  std::vector<Node::Entry> sorted = node.entries;
  std::sort(sorted.begin(), sorted.end(), [](const auto& a, const auto& b) { return a.key < b.key; });
  out += '{';
  for (const Node::Entry& entry : sorted) {
    write_text(out, entry.key);
    out += ':';
    write_canonical(out, *entry.value);
    out += ',';
  }
  out += '}';
}

Variation read_variation(std::string_view key, const Node::Entry& entry, std::vector<Mistake>& mistakes) {
  Variation variation{.name = entry.key, .overrides = {}};
  const Node& node = *entry.value;
  if (entry.key.find_first_not_of(' ') == std::string::npos) {
    mistakes.push_back(mistake_at(entry.place, std::string(key), "\"" + entry.key + "\"", "is blank",
                                  "a name that is not only spaces"));
  }
  if (node.kind != Node::Kind::mapping && node.kind != Node::Kind::empty) {
    mistakes.push_back(mistake_at(node.place, std::string(key) + "." + entry.key, shown(node), "is not a mapping",
                                  "a mapping of dotted keys to values"));
  }
  for (const Node::Entry& difference : node.entries) {
    variation.overrides.push_back({difference.key, difference.place, difference.value});
  }
  return variation;
}

}  // namespace

Document Document::from_text(std::string text, std::string source_name) {
  YamlTree tree = parse_yaml(std::move(text), std::move(source_name));
  Document document;
  document.mistakes_ = std::move(tree.mistakes);
  document.root_ = tree.root->kind == Node::Kind::empty ? empty_mapping(tree.root->place) : tree.root;
  if (document.root_->kind == Node::Kind::mapping) return document;
  document.mistakes_.push_back(mistake_at(document.root_->place, "", shown(*document.root_),
                                          "the file contains no keys", "lines of `key: value`"));
  throw ScenarioError(document.mistakes_);
}

Document Document::from_file(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  std::error_code error;
  if (!file || std::filesystem::is_directory(path, error))
    throw UserError("Cannot read the file '" + path.string() + "'.");
  std::string text(largest_bytes + 1, '\0');  // one more than allowed is enough to refuse it
  file.read(text.data(), static_cast<std::streamsize>(text.size()));
  text.resize(static_cast<std::size_t>(file.gcount()));
  return from_text(std::move(text), path.string());
}

Override parse_override(std::string_view path, std::string_view yaml) {
  YamlTree tree = parse_yaml(std::string(yaml), "override of " + std::string(path));
  if (!tree.mistakes.empty()) throw ScenarioError(std::move(tree.mistakes));
  return {std::string(path), tree.root->place, tree.root};
}

Document Document::with_override(std::string_view path, std::string_view yaml) const {
  YamlTree tree = parse_yaml(std::string(yaml), "override of " + std::string(path));
  Document document = with_override({std::string(path), tree.root->place, tree.root});
  document.mistakes_.insert(document.mistakes_.end(), tree.mistakes.begin(), tree.mistakes.end());
  return document;
}

Document Document::with_override(const Override& replacement) const {
  Document document = *this;
  Replacer replacer(replacement);
  document.root_ = replacer(root_);
  if (replacer.mistake) document.mistakes_.push_back(*replacer.mistake);
  return document;
}

std::vector<Variation> Document::variations(std::string_view key) const {
  std::vector<Variation> variations;
  const Node::Entry* section = root_->find(key);
  if (!section || section->value->kind == Node::Kind::empty) return variations;
  std::vector<Mistake> mistakes;
  if (section->value->kind != Node::Kind::mapping) {
    mistakes.push_back(mistake_at(section->value->place, std::string(key), shown(*section->value), "is not a mapping",
                                  "a mapping of names to {dotted.key: value}"));
  }
  for (const Node::Entry& entry : section->value->entries) variations.push_back(read_variation(key, entry, mistakes));
  if (!mistakes.empty()) throw ScenarioError(std::move(mistakes));
  return variations;
}

Document Document::with_overrides(const std::vector<Override>& replacements) const {
  Document document = *this;
  for (const Override& replacement : replacements) document = document.with_override(replacement);
  return document;
}

Document Document::without(std::string_view top_level_key) const {
  Document document = *this;
  auto root = std::make_shared<Node>(*root_);
  std::erase_if(root->entries, [&](const Node::Entry& entry) { return entry.key == top_level_key; });
  document.root_ = std::move(root);
  return document;
}

std::string Document::canonical() const {
  std::string text;
  write_canonical(text, *root_);
  return text;
}

std::string Document::hash() const { return fnv1a_hex(canonical()); }

std::string fnv1a_hex(std::string_view text) {
  std::uint64_t hash = 14695981039346656037ULL;  // FNV-1a, 64 bits: offset basis and prime
  for (const char c : text) hash = (hash ^ static_cast<unsigned char>(c)) * 1099511628211ULL;
  std::string hex(16, '0');
  for (std::size_t i = 16; i-- > 0; hash >>= 4) hex[i] = "0123456789abcdef"[hash & 15];
  return hex;
}

}  // namespace farrowtide
