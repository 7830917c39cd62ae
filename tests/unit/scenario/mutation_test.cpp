#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <random>

#include "tests/fuzz/reading.hpp"

namespace farrowtide {
namespace {

// Changes that a hand, an editor or a broken disk makes: bytes, lines, indentation, pieces of YAML.
class Mutator {
 public:
  explicit Mutator(std::uint64_t seed) : draw_(seed) {}

  std::string operator()(std::string text) {
    for (std::size_t changes = 1 + below(4); changes > 0; --changes) change(text);
    return text;
  }

 private:
  std::size_t below(std::size_t bound) { return bound == 0 ? 0 : draw_() % bound; }

  void change(std::string& text) {
    static constexpr const char* pieces[] = {
        ":",        ": ",     "- ",  "\n",   "\t", "  ",     "[",   "]",   "{",   "}",    "\"",  "'",   "&a ",  "*a",
        "*r",       "!!str ", "|\n", ">-\n", "#",  "---\n",  "...", "<<:", "010", ".nan", "yes", "-",   "1e99", "~",
        "\xC3\xB6", "\xFF",   "\r",  "?",    "%",  "title:", ",",   "\\",  "@",   "`",    "kg",  "degF"};
    const std::size_t place = below(text.size() + 1);
    const std::size_t length = below(1 + below(40));
    switch (below(6)) {
      case 0:
        text.insert(place, pieces[below(std::size(pieces))]);
        break;
      case 1:
        text.erase(place, length);
        break;
      case 2:
        text.insert(place, text.substr(below(text.size() + 1), length));
        break;
      case 3:
        text.replace(place, length, pieces[below(std::size(pieces))]);
        break;
      case 4:
        text.insert(place, 1, static_cast<char>(below(256)));
        break;
      case 5:
        text.resize(place);
        break;
    }
  }

  std::mt19937_64 draw_;
};

TEST(AnyText, IsReadOrRefusedWithPlacesInsideIt) {
  std::size_t read = 0;
  for (std::uint64_t seed = 0; seed < 2000; ++seed) {
    const std::string text = Mutator(seed)(barn::full_text);
    EXPECT_EQ(breach_in_reading(text), "") << "seed " << seed << ":\n" << text;
    read += barn::mistakes(text).empty();
  }
  // Both happen: mutations that only break the text would leave the reader of values untried.
  EXPECT_GT(read, 100u);
  EXPECT_LT(read, 1900u);
}

TEST(AnyText, OfTheCorpusIsReadOrRefused) {
  std::size_t files = 0;
  for (const auto& entry :
       std::filesystem::directory_iterator(FARROWTIDE_SOURCE_DIR "/tests/fuzz/corpus/scenario_reader")) {
    std::ifstream file(entry.path(), std::ios::binary);
    const std::string text{std::istreambuf_iterator<char>(file), {}};
    EXPECT_EQ(breach_in_reading(text), "") << entry.path();
    ++files;
  }
  EXPECT_GE(files, 15u);
}

// The checker itself, with a reading that breaks each rule.
TEST(AnyText, CheckerSeesBreaches) {
  const std::string text = "title: a\n";
  const auto breach = [&](Mistake mistake) {
    return breach_in(text, [&] { throw ScenarioError({std::move(mistake)}); });
  };
  EXPECT_EQ(breach({.source = "text", .line = 1, .column = 1, .problem = "is odd"}), "");
  EXPECT_NE(breach({.source = "text", .line = 3, .column = 1, .problem = "is odd"}), "");
  EXPECT_NE(breach({.source = "text", .line = 1, .column = 10, .problem = "is odd"}), "");
  EXPECT_NE(breach({.source = "else", .line = 1, .column = 1, .problem = "is odd"}), "");
  EXPECT_NE(breach({.source = "text", .line = 1, .column = 1}), "");
  EXPECT_NE(breach_in(text, [] { throw ScenarioError({}); }), "");
  EXPECT_THROW(breach_in(text, [] { throw InternalError("ours"); }), InternalError);
}

}  // namespace
}  // namespace farrowtide
