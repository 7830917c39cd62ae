// The one place where YAML text becomes a tree and mistakes in the text itself are found.
#pragma once

#include <string>
#include <vector>

#include "libsim/scenario/node.hpp"

namespace farrowtide {

struct YamlTree {
  NodeRef root;  // of kind empty for an empty text
  std::vector<Mistake> mistakes;
};

// Throws ScenarioError if no tree can be built: too large, not UTF-8, tabs, syntax, nesting or aliases beyond bounds.
YamlTree parse_yaml(std::string text, std::string source_name);

}  // namespace farrowtide
