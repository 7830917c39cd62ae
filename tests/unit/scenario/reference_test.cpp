#include "libsim/scenario/reference.hpp"

#include <gtest/gtest.h>

#include <sstream>

#include "tests/unit/scenario/barn.hpp"

namespace farrowtide {
namespace {

Declaration described() { return describe_settings<barn::Barn>(barn::coefficients()); }

std::size_t count(const std::string& text, const std::string& word) {
  std::size_t found = 0;
  for (std::size_t at = 0; (at = text.find(word, at)) != text.npos; at += word.size()) ++found;
  return found;
}

TEST(Explain, TellsMeaningUnitDefaultRangeSourceAndGrade) {
  EXPECT_EQ(explain(described(), "drinker.gap"),
            "drinker.gap\n"
            "  Between visits.\n"
            "  Unit: h, s, min, d, wk\n"
            "  Default: 1.5\n"
            "  Allowed: 0 to 24 h\n"
            "  Source: Author 2002, Journal 2:2 (grade B: derived from or fitted to published values)\n"
            "  Coefficient: barn.water.gap\n");
}

struct Row {
  const char* key;
  const char* told;  // a part of the explanation
};

TEST(Explain, KnowsKeysOfVariantsListsAndNames) {
  const Row rows[] = {
      {"feeding.amount", "Only with: feeding.kind free_access"},
      {"feeding.kind", "- by_hand: Meals at fixed times."},
      {"rooms.0.crates", "rooms[].crates\n"},
      {"rooms.crates", "rooms[].crates\n"},
      {"rooms[].crates", "rooms[].crates\n"},
      {"stores.hay.area", "stores.NAME.area\n"},
      {"stores", "- area: Floor area."},
      {"title", "Default: required"},
      {"fixed_weight", "Default: none"},
      {"share", "Unit: none; a share may be given in %"},
  };
  for (const Row& row : rows) {
    EXPECT_NE(explain(described(), row.key).find(row.told), std::string::npos) << explain(described(), row.key);
  }
}

TEST(Explain, SuggestsAKeyForAnUnknownOne) {
  const Row rows[] = {
      {"drinker.flwo", "There is no key 'drinker.flwo'. Did you mean drinker.flow?"},
      {"power", "There is no key 'power'. Did you mean lamp.power?"},
      {"rooms.0", "There is no key 'rooms.0'. Did you mean rooms?"},
      {"xyzzy", "There is no key 'xyzzy'."},
      {"", "There is no key ''."},
      {"rooms.", "There is no key 'rooms.'. Did you mean rooms?"},
  };
  for (const Row& row : rows) {
    try {
      explain(described(), row.key);
      ADD_FAILURE() << row.key << " was explained";
    } catch (const UserError& error) {
      EXPECT_STREQ(error.what(), row.told);
    }
  }
}

TEST(MarkdownReference, HasATableForEveryMappingAndVariant) {
  const std::string text = markdown_reference(described());
  for (const char* title : {"## Top level", "## `feeding`", "## `feeding` with `kind: by_hand`", "## `rooms[]`",
                            "## `feeding` with `kind: free_access`", "## `drinker`", "## `stores.NAME`", "## `lamp`"}) {
    EXPECT_EQ(count(text, std::string(title).append("\n")), 1u) << title;
  }
  EXPECT_NE(text.find("| `gap` | h | `1.5` | 0 to 24 h | Between visits. |\n"), text.npos);
  EXPECT_NE(text.find("| `title` |  | required | text | What it is about. |\n"), text.npos);
}

TEST(MarkdownReference, EveryRowHasTheColumnsOfItsHead) {
  std::istringstream lines(markdown_reference(described()));
  std::size_t rows = 0;
  for (std::string line; std::getline(lines, line);) {
    if (!line.starts_with('|')) continue;
    EXPECT_EQ(count(line, "|") - count(line, "\\|"), 6u) << line;
    ++rows;
  }
  EXPECT_GT(rows, 30u);
}

// That the text is a valid schema and admits what the reader admits is checked with an independent validator in
// tests/python; here, that it is a closed JSON text naming every key once for each mapping that has it.
TEST(JsonSchema, IsBalancedAndRefusesUnknownKeys) {
  const std::string text = json_schema(described(), "barn");
  EXPECT_EQ(count(text, "{"), count(text, "}"));
  EXPECT_EQ(count(text, "["), count(text, "]"));
  EXPECT_NE(text.find("\"$schema\": \"https://json-schema.org/draft/2020-12/schema\""), text.npos);
  // Mappings: top level, feeding, drinker, rooms, stores, lamp.
  EXPECT_EQ(count(text, "\"unevaluatedProperties\": false"), 6u);
  EXPECT_EQ(count(text, "\"amount\":"), 1u);
  EXPECT_EQ(count(text, "\"crates\":"), 2u);
  EXPECT_NE(text.find("\"default\": 1.5"), text.npos);
  EXPECT_NE(text.find("\"enum\": [\"slats\", \"bedding\"]"), text.npos);
}

}  // namespace
}  // namespace farrowtide
