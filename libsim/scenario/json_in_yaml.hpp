// JSON that the YAML parser refuses, rewritten so that it reads the same.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace farrowtide {

// A document that begins with `{`, with escaped pairs of surrogates ("\ud83d\udc37") as one escape and long keys marked
// as keys, which YAML limits to 1,024 letters otherwise. Any other text is left as it is.
class JsonInYaml {
 public:
  explicit JsonInYaml(std::string_view text);

  const std::string& text() const { return text_; }
  int column(int line, int column) const;  // in the original text; all from 0

 private:
  struct Shift {
    int line, from, by;  // columns of this line from `from` on are `by` further to the right in the original
  };

  std::size_t rewrite_string(std::string_view original, std::size_t start);
  void shifted(std::size_t original_offset);

  std::string text_;
  std::vector<Shift> shifts_;
  int line_ = 0;
  std::size_t line_start_ = 0, original_line_start_ = 0;
};

}  // namespace farrowtide
