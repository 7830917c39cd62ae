// Mistakes in a user's file, each with its place, the value, what is allowed and a suggestion.
#pragma once

#include <compare>
#include <string>
#include <string_view>
#include <vector>

#include "libsim/kernel/errors.hpp"

namespace farrowtide {

struct Mistake {
  std::string source = {};  // file name, or "override of KEY"
  int line = 0;             // from 1; 0: the file as a whole
  int column = 0;           // from 1, in characters
  std::string key = {};     // dotted path, "feeding.meals.0.at"
  std::string value = {};   // as written; empty where there is none
  std::string problem = {};
  std::string allowed = {};
  std::string suggestion = {};
  std::string excerpt = {};  // the line it is on; empty if that is very long

  auto operator<=>(const Mistake&) const = default;  // by place first
};

// `file:line:column: key = value: problem (allowed). Did you mean suggestion?`
std::string one_line(const Mistake& mistake);

// The line above, then the excerpt with a caret under the place.
std::string with_excerpt(const Mistake& mistake);

// Reading stops at this many: the file is probably not a scenario at all.
inline constexpr std::size_t most_mistakes = 1000;

// All mistakes in the user's input, in order of position, each once.
class ScenarioError : public UserError {
 public:
  explicit ScenarioError(std::vector<Mistake> mistakes);

  const std::vector<Mistake>& mistakes() const { return mistakes_; }

 private:
  std::vector<Mistake> mistakes_;
};

// The candidate that equals `word` except for case, or else the nearest by edit distance; "" if none is close enough.
std::string closest(std::string_view word, const std::vector<std::string>& candidates);

}  // namespace farrowtide
