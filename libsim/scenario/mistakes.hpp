// What a user got wrong in a file: every mistake with its place, the value, what is allowed and a suggestion.
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
  std::string excerpt = {};  // the line it stands on; empty for a very long one

  auto operator<=>(const Mistake&) const = default;  // by place first
};

// `file:line:column: key = value: problem (allowed). Did you mean suggestion?`
std::string one_line(const Mistake& mistake);

// The line above, then the excerpt with a caret under the place.
std::string with_excerpt(const Mistake& mistake);

// Reading stops here: beyond, the file is something else than what was meant.
inline constexpr std::size_t most_mistakes = 1000;

// Everything wrong with what the user wrote, in order of position, each mistake once.
class ScenarioError : public UserError {
 public:
  explicit ScenarioError(std::vector<Mistake> mistakes);

  const std::vector<Mistake>& mistakes() const { return mistakes_; }

 private:
  std::vector<Mistake> mistakes_;
};

// The candidate that is `word` but for capitals, or else the nearest by edit distance; "" where none is near enough to
// be meant.
std::string closest(std::string_view word, const std::vector<std::string>& candidates);

}  // namespace farrowtide
