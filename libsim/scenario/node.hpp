// A parsed document as a tree of shared, immutable nodes, each with its place in the source.
#pragma once

#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "libsim/scenario/mistakes.hpp"

namespace farrowtide {

struct Source {
  Source(std::string source_name, std::string source_text);

  std::string name;
  std::string text;
  std::vector<std::size_t> line_starts;

  std::string_view line(int number) const;  // from 1; empty outside the text
};

struct Place {
  std::shared_ptr<const Source> source;
  int line = 0;    // from 1; 0: the source as a whole
  int column = 0;  // from 1, in bytes
};

struct Node;
using NodeRef = std::shared_ptr<const Node>;

struct Node {
  enum class Kind { empty, scalar, list, mapping };
  struct Entry {
    std::string key;
    Place place;
    NodeRef value;
  };

  Kind kind = Kind::empty;
  Place place;
  std::string text;  // of a scalar
  bool quoted = false;
  std::vector<NodeRef> items;  // of a list
  std::vector<Entry> entries;  // of a mapping, in the order of the file
  int size = 1;                // nodes below and including this one, aliases counted at every use
  int height = 1;              // 1 for a scalar

  const Entry* find(std::string_view key) const;  // nullptr where absent
  std::vector<std::string> keys() const;
};

// A value as shown in messages: one line, cut at 60 characters; "{...}" and "[...]" for mappings and lists.
std::string shown(const Node& node);

// The kind in words, for messages: "a list", "a mapping of keys" or "a single value".
std::string kind_words(Node::Kind kind);

// A mistake at a place, its column in characters and its excerpt taken from the source.
Mistake mistake_at(const Place& place, std::string key, std::string value, std::string problem,
                   std::string allowed = {}, std::string suggestion = {});

}  // namespace farrowtide
