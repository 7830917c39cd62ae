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

// JSON is YAML, so the strict reader finds a broken text and repeated keys.
NodeRef schema() {
  const Document document = Document::from_text(json_schema(described(), "barn"), "schema");
  EXPECT_TRUE(document.mistakes().empty());
  return document.root();
}

// The node at a path of keys and list places, "properties/rooms/items".
const Node& at(const Node& root, const std::string& path) {
  const Node* node = &root;
  std::istringstream words(path);
  for (std::string word; std::getline(words, word, '/');) {
    const bool list = node->kind == Node::Kind::list;
    if (!list && !node->find(word)) throw std::out_of_range(path);
    node = list ? node->items.at(std::stoul(word)).get() : node->find(word)->value.get();
  }
  return *node;
}

TEST(JsonSchema, SaysWhatTheDeclarationsSay) {
  const NodeRef root = schema();
  const Row rows[] = {
      {"$schema", "https://json-schema.org/draft/2020-12/schema"},
      {"required/0", "title"},
      {"properties/room/anyOf/0/minimum", "5"},
      {"properties/room/anyOf/0/maximum", "40"},
      {"properties/room/default", "20"},
      {"properties/lit/type", "boolean"},
      {"properties/floor/enum/1", "bedding"},
      {"properties/sizes/items/type", "integer"},
      {"properties/outputs/items/enum/1", "litters"},
      {"properties/drinker/properties/gap/default", "1.5"},
      {"properties/drinker/properties/bouts/minItems", "2"},
      {"properties/rooms/items/required/0", "crates"},
      {"properties/stores/additionalProperties/properties/area/default", "100"},
      {"properties/feeding/allOf/1/if/properties/kind/const", "free_access"},
      {"properties/feeding/allOf/1/if/required/0", "kind"},
      {"properties/feeding/allOf/1/then/required/0", "amount"},
      {"properties/drinker/properties/flow/description",
       "Flow when pressed. Unit: L/min, mL/min, m3/min, gal/min, ft3/min. Allowed: 0.1 to 10 L/min."},
  };
  for (const Row& row : rows) EXPECT_EQ(at(*root, row.key).text, row.told) << row.key;
  // The default kind holds where none is given.
  EXPECT_THROW(at(*root, "properties/feeding/allOf/0/if/required"), std::out_of_range);
}

TEST(JsonSchema, RefusesUnknownKeysInEveryMapping) {
  const NodeRef root = schema();
  for (const char* mapping : {"", "properties/feeding/", "properties/drinker/", "properties/rooms/items/",
                              "properties/stores/additionalProperties/", "properties/lamp/"}) {
    EXPECT_EQ(at(*root, std::string(mapping).append("unevaluatedProperties")).text, "false") << mapping;
  }
}

}  // namespace
}  // namespace farrowtide
