#include "libsim/scenario/document.hpp"

#include <gtest/gtest.h>

#include <fstream>

#include "tests/unit/scenario/barn.hpp"

namespace farrowtide {
namespace {

std::string problems(const std::string& text) {
  std::string all;
  for (const std::string& line : barn::mistakes(text)) all += line + "\n";
  return all;
}

struct BadText {
  const char* what;
  std::string text;
  const char* told;  // the start of a line of what is told
};

std::string laughs() {
  std::string text = "a0: &a0 [x, x, x, x, x, x, x, x, x, x]\n";
  for (int i = 1; i <= 9; ++i) {
    const std::string n = std::to_string(i), below = "*a" + std::to_string(i - 1);
    text.append("a").append(n).append(": &a").append(n).append(" [").append(below);
    for (int j = 1; j < 10; ++j) text.append(", ").append(below);
    text += "]\n";
  }
  return text;
}

std::string nested(int levels) { return "title: " + std::string(levels, '[') + std::string(levels, ']'); }

TEST(Document, TellsWhatIsWrongWithTheTextAndWhere) {
  const BadText rows[] = {
      {"repeated key", "title: a\ntitle: b\n",
       "barn.yaml:2:1: title = b: is repeated, first given on line 1 (each key only once)."},
      {"repeated key below", "title: a\nlamp: {power: 1, power: 2}\n",
       "barn.yaml:2:18: lamp.power = 2: is repeated, first given on line 2"},
      {"tab", "lamp:\n\tpower: 1\n", "barn.yaml:2:1: this line is indented with a tab (indent with spaces)."},
      {"tab after spaces", "lamp:\n  \tpower: 1\n", "barn.yaml:2:3: this line is indented with a tab"},
      {"open bracket", "title: a\nsizes: [1, 2\n", "barn.yaml:3:1: this is not valid YAML"},
      {"open quote", "title: \"a\nroom: 20\n", "barn.yaml:1:8: this quote is never closed."},
      {"open single quote", "title: &t 'it''s\n", "barn.yaml:1:8: this quote is never closed."},
      {"open quote behind a backslash", "title: \"a\\\"", "barn.yaml:1:12: this is not valid YAML"},
      {"two colons", "title: a: b\n", "barn.yaml:1:9: this is not valid YAML"},
      {"unknown alias", "title: *x\n", "barn.yaml:1:8: this is not valid YAML"},
      {"own anchor", "title: a\nrooms: &r [*r]\n", "barn.yaml:2:12: this alias is inside its own anchor."},
      {"billion laughs", laughs(), "barn.yaml:4:45: aliases expand to too many values (at most 10000 in all)."},
      {"deep", nested(40), "barn.yaml:1:39: values are nested too deeply (at most 32 levels)."},
      {"deep by aliases",
       "a: &a " + std::string(20, '[') + std::string(20, ']') + "\nb: " + std::string(20, '[') + "*a" +
           std::string(20, ']'),
       "barn.yaml:2:24: values are nested too deeply"},
      {"very deep", nested(100000), "barn.yaml:1:39: values are nested too deeply"},
      {"merge key", "title: a\nlamp: {<<: {power: 3}}\n", "barn.yaml:2:8: merge keys are not supported"},
      {"list as key", "title: a\n? [1]\n: 2\n", "barn.yaml:2:3: a key is not a word"},
      {"no key", "title: a\n: 2\n", "barn.yaml:2:1: a key is not a word"},
      {"alias as key", "title: &t a\n*t : 2\n", "barn.yaml:2:1: an alias is used as a key"},
      {"tag", "title: !!binary aGVsbG8=\n", "barn.yaml:1:8: the tag 'tag:yaml.org,2002:binary' is not supported"},
      {"second document", "title: a\n---\ntitle: b\n", "barn.yaml:2:1: a second document starts here"},
      {"latin-1",
       "title: gr\xF6\xDF"
       "e\n",
       "barn.yaml:1:10: this is not UTF-8 text"},
      {"over-long", "title: \xC0\xAF\n", "barn.yaml:1:8: this is not UTF-8 text"},
      {"surrogate", "title: \xED\xA0\x80\n", "barn.yaml:1:8: this is not UTF-8 text"},
      {"cut character", "title: \xE2\x82", "barn.yaml:1:8: this is not UTF-8 text"},
      {"zero byte", std::string("title: a\0b\n", 11), "barn.yaml:1:9: this is a control character"},
      {"too large", std::string(Document::largest_bytes + 1, '#'), "barn.yaml: the file is too large (at most 4 MB)."},
      {"no keys", "just words\n", "barn.yaml:1:1: just words: the file contains no keys"},
      {"list", "- 1\n- 2\n", "barn.yaml:1:1: [...]: the file contains no keys"},
      {"empty", "", "barn.yaml:1:1: title: is missing (What it is about)."},
      {"only a comment", "# nothing\n", "barn.yaml:"},
  };
  for (const BadText& row : rows) {
    const std::string told = problems(row.text);
    EXPECT_NE(("\n" + told).find(std::string("\n").append(row.told)), std::string::npos) << row.what << " told:\n"
                                                                                         << told;
  }
}

TEST(Document, ReadsWindowsLinesAndAByteOrderMark) {
  EXPECT_EQ(barn::read("\xEF\xBB\xBFtitle: a\r\nroom: 25\r\n").room_deg_c, 25);
  EXPECT_EQ(barn::mistakes("\xEF\xBB\xBFtitle: a\r\nroom: 99 kg\r\n").front(),
            "barn.yaml:2:7: room = 99 kg: has the unit 'kg' (degC, degF).");
}

TEST(Document, ReadsQuotedText) {
  for (const char* text :
       {"title: ''", "title: 'it''s'  # isn't it", "title: &a \"x\\\"\"", "title: \"two\n  lines\"\n"}) {
    EXPECT_EQ(barn::mistakes(text), std::vector<std::string>{}) << text;
  }
  EXPECT_EQ(barn::read("title: 'it''s'").title, "it's");
}

TEST(Document, CountsColumnsInCharacters) {
  try {
    barn::read("{title: größe, room: 400}");
    FAIL() << "an impossible temperature was read";
  } catch (const ScenarioError& error) {
    EXPECT_EQ(with_excerpt(error.mistakes().at(0)),
              "barn.yaml:1:22: room = 400: is outside the range (5 to 40 degC).\n"
              "  1 | {title: größe, room: 400}\n"
              "    |                      ^");
  }
}

TEST(Document, SharesAnchoredValues) {
  const barn::Barn read = barn::read("title: a\nrooms: [&r {crates: 3}, *r, *r]\n");
  ASSERT_EQ(read.rooms.size(), 3u);
  EXPECT_EQ(read.rooms[2].crates, 3);
}

TEST(Document, AFileThatIsNotThereIsTheUsersMistake) {
  EXPECT_THROW(Document::from_file("no/such/file.yaml"), UserError);
  EXPECT_THROW(Document::from_file("."), UserError);
}

// Each would take minutes if anything were looked up by going through the file again.
TEST(Document, LargeHostileFilesAreRefusedWithoutDelay) {
  std::string keys = "title: a\n", repeated = keys, entries = "title: a\nrooms:\n", line = "{title: a";
  for (int i = 0; i < 100000; ++i) {
    keys.append("key").append(std::to_string(i)).append(": 1\n");
    repeated += "room: 20\n";
    entries += " - {crates: x, y: 1}\n";
    line.append(", k").append(std::to_string(i)).append(": 'v'");
  }
  for (const std::string& text : {keys, repeated, entries, line + "}"}) {
    EXPECT_EQ(barn::mistakes(text).size(), most_mistakes) << text.substr(0, 40);
  }
}

TEST(Document, HashesWhatIsSaidAndNotHowItIsWritten) {
  const auto hash = [](const char* text) { return Document::from_text(text, "x").hash(); };
  EXPECT_EQ(hash("a: 1\nb: [x, {c: 2}]\n"), hash("# note\nb:\n- 'x'\n- c: 2\na: \"1\"\n"));
  EXPECT_EQ(hash("a: &x [1]\nb: *x"), hash("a: [1]\nb: [1]"));
  EXPECT_NE(hash("a: 1"), hash("a: 2"));
  EXPECT_NE(hash("a: [x, y]"), hash("a: ['x,y']"));
  EXPECT_NE(hash("a: ~"), hash("a: 'null'"));
}

// Known answers of 64-bit FNV-1a from its authors' test vectors (Fowler, Noll, Vo; from memory).
TEST(Document, HashIsFnv1a) {
  EXPECT_EQ(fnv1a_hex(""), "cbf29ce484222325");
  EXPECT_EQ(fnv1a_hex("a"), "af63dc4c8601ec8c");
  EXPECT_EQ(fnv1a_hex("foobar"), "85944171f73967e8");
}

struct OverrideRow {
  const char* path;
  const char* yaml;
  const char* canonical;
};

TEST(Override, ReplacesAValueInWhole) {
  const Document document = Document::from_text("a: {b: 1, c: 2}\nlist: [{k: 1}, {k: 2}]\nempty:\n", "x");
  const OverrideRow rows[] = {
      {"a.b", "7", R"({"a":{"b":"7","c":"2",},"empty":null,"list":[{"k":"1",},{"k":"2",},],})"},
      {"a", "{d: 4}", R"({"a":{"d":"4",},"empty":null,"list":[{"k":"1",},{"k":"2",},],})"},
      {"list.1.k", "72 degF", R"({"a":{"b":"1","c":"2",},"empty":null,"list":[{"k":"1",},{"k":"72 degF",},],})"},
      {"list", "[]", R"({"a":{"b":"1","c":"2",},"empty":null,"list":[],})"},
      {"empty.x.y", "1", R"({"a":{"b":"1","c":"2",},"empty":{"x":{"y":"1",},},"list":[{"k":"1",},{"k":"2",},],})"},
      {"new.x", "[1, 2]",
       R"({"a":{"b":"1","c":"2",},"empty":null,"list":[{"k":"1",},{"k":"2",},],"new":{"x":["1","2",],},})"},
  };
  const std::string before = document.canonical();
  for (const OverrideRow& row : rows) {
    const Document changed = document.with_override(row.path, row.yaml);
    EXPECT_EQ(changed.canonical(), row.canonical) << row.path;
    EXPECT_TRUE(changed.mistakes().empty()) << row.path;
  }
  EXPECT_EQ(document.canonical(), before);
}

TEST(Override, OfAnAliasChangesOneOfTheTwo) {
  const Document document = Document::from_text("a: &x {k: 1}\nb: *x\n", "x").with_override("b.k", "2");
  EXPECT_EQ(document.canonical(), R"({"a":{"k":"1",},"b":{"k":"2",},})");
}

TEST(Override, TellsItsMistakesWithTheOthers) {
  const Document document = Document::from_text("title: yes\nlit: true\nrooms: [{crates: 2}]\n", "barn.yaml")
                                .with_override("lit.x", "1")
                                .with_override("rooms.1.crates", "3")
                                .with_override("room", "300 degF")
                                .with_override("drinker.flwo", "3")
                                .with_override("a..b", "3");
  EXPECT_EQ(barn::mistakes(document),
            (std::vector<std::string>{
                "barn.yaml:1:8: title = yes: some YAML parsers read this as a boolean (text; put this word in quotes). "
                "Did you mean \"yes\"?",
                "override of a..b:1:1: a..b = 3: a part of the path is empty (names separated by dots).",
                "override of drinker.flwo:1:1: drinker.flwo = 3: is not a known key here (known keys: flow, bouts, "
                "gap, group). "
                "Did you mean flow?",
                "override of lit.x:1:1: lit.x = 1: leads into 'true', which is a single value.",
                "override of room:1:1: room = 300 degF: is outside the range (5 to 40 degC, which is 41 to 104 degF).",
                "override of rooms.1.crates:1:1: rooms.1.crates = 3: '1' is not an entry of the list (0 to 0).",
            }));
  EXPECT_THROW(document.with_override("room", "[1"), ScenarioError);
  std::string deep = "a";
  for (int i = 0; i < 40; ++i) deep += ".a";
  EXPECT_EQ(document.with_override(deep, "1").mistakes().back().problem, "values are nested too deeply");
}

Document with_variation(const Document& document, std::size_t index) {
  return document.without("alternatives").with_overrides(document.variations("alternatives").at(index).overrides);
}

TEST(Override, IsWhereAKeyIsMissingThatItTookAway) {
  const Document document =
      Document::from_text("title: a\nlamp: {power: 3}\n", "barn.yaml").with_override("lamp", "{}");
  EXPECT_EQ(barn::mistakes(document),
            std::vector<std::string>{"override of lamp:1:1: lamp.power: is missing (Electric power)."});
}

TEST(Variations, AreReadInTheOrderOfTheFile) {
  const Document document = Document::from_text(barn::full_text, "barn.yaml");
  const std::vector<Variation> variations = document.variations("alternatives");
  ASSERT_EQ(variations.size(), 2u);
  EXPECT_EQ(variations[0].name, "cold");
  EXPECT_EQ(variations[1].name, "by hand");
  const Document cold = with_variation(document, 0);
  const barn::Barn read = read_settings<barn::Barn>(cold, barn::coefficients());
  EXPECT_EQ(read.room_deg_c, 15);
  EXPECT_EQ(read.rooms.at(0).crates, 10);
  EXPECT_EQ(read.rooms.at(1).crates, 12);
  EXPECT_EQ(cold.root()->find("alternatives"), nullptr);
  EXPECT_EQ(read_settings<barn::Barn>(with_variation(document, 1), barn::coefficients()).feeding->told(), "by hand 3");
}

TEST(Variations, KeepTheirTrueLinesInMessages) {
  const Document document = Document::from_text(
      "title: a\nalternatives:\n  hot:\n    room: 99\n    drinker.flwo: 2\n    lamp: {pwoer: 3}\n", "barn.yaml");
  EXPECT_EQ(barn::mistakes(with_variation(document, 0)),
            (std::vector<std::string>{
                "barn.yaml:4:11: room = 99: is outside the range (5 to 40 degC). Did you mean 99 degF?",
                "barn.yaml:5:5: drinker.flwo = 2: is not a known key here (known keys: flow, bouts, gap, group). "
                "Did you mean flow?",
                "barn.yaml:6:5: lamp.power: is missing (Electric power).",
                "barn.yaml:6:12: lamp.pwoer = 3: is not a known key here (known keys: power). Did you mean power?",
            }));
}

TEST(Variations, AreMappingsOfMappings) {
  EXPECT_THROW(Document::from_text("alternatives: 3", "x").variations("alternatives"), ScenarioError);
  EXPECT_THROW(Document::from_text("alternatives: {a: 3}", "x").variations("alternatives"), ScenarioError);
  EXPECT_TRUE(Document::from_text("title: a", "x").variations("alternatives").empty());
}

TEST(Variations, AreMadeOfOverridesAlsoFromText) {
  const Document document = Document::from_text("a: {b: 1}", "x");
  EXPECT_EQ(document.with_overrides({parse_override("a.b", "2"), parse_override("c", "[3]")}).canonical(),
            R"({"a":{"b":"2",},"c":["3",],})");
  EXPECT_THROW(parse_override("a.b", "{x: 1, x: 2}"), ScenarioError);
}

}  // namespace
}  // namespace farrowtide
