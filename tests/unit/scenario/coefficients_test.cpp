#include "libsim/scenario/coefficients.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <set>

#include "libsim/scenario/embedded_files.hpp"
#include "tests/unit/scenario/barn.hpp"

namespace farrowtide {
namespace {

template <class Act>
std::vector<std::string> told(Act act) {
  std::vector<std::string> lines;
  try {
    act();
  } catch (const ScenarioError& error) {
    for (const Mistake& mistake : error.mistakes()) lines.push_back(one_line(mistake));
  }
  return lines;
}

TEST(Coefficients, BuiltInAreWholeAndInTheirRange) {
  const Coefficients coefficients = Coefficients::built_in();
  std::set<std::string> paths;
  for (std::size_t i = 0; i < coefficients.size(); ++i) {
    const Coefficient& entry = coefficients[i];
    EXPECT_TRUE(paths.insert(entry.path).second) << entry.path;
    EXPECT_FALSE(entry.unit.empty() || entry.source.empty()) << entry.path;
    EXPECT_TRUE(entry.grade == "A" || entry.grade == "B" || entry.grade == "C") << entry.path;
    ASSERT_EQ(entry.value.size(), entry.is_table() ? entry.axis->labels.size() : 1u) << entry.path;
    ASSERT_EQ(entry.low.size(), entry.value.size()) << entry.path;
    ASSERT_EQ(entry.high.size(), entry.value.size()) << entry.path;
    for (std::size_t k = 0; k < entry.value.size(); ++k) {
      EXPECT_TRUE(std::isfinite(entry.value[k])) << entry.path;
      EXPECT_LE(entry.low[k], entry.value[k]) << entry.path;
      EXPECT_LE(entry.value[k], entry.high[k]) << entry.path;
    }
  }
}

// The reader against the text itself: every line that opens an entry ("value:" in braces) became one coefficient.
TEST(Coefficients, BuiltInMissNoEntryOfTheFiles) {
  std::size_t entries = 0;
  for (const EmbeddedFile& file : embedded_coefficient_files()) {
    for (std::size_t at = 0; (at = file.text.find("{value:", at)) != file.text.npos; ++at) ++entries;
  }
  EXPECT_GT(entries, 600u);
  EXPECT_EQ(Coefficients::built_in().size(), entries);
}

TEST(Coefficients, GiveNumbersTablesAndAxes) {
  const Coefficients coefficients = barn::coefficients();
  EXPECT_EQ(coefficients.number("barn.water.flow", "L/min"), 2);
  EXPECT_EQ(coefficients.table("barn.water.bouts", "1/d"), (std::vector{3.0, 5.0}));
  EXPECT_EQ(coefficients.axis("barn.water.bouts"), (std::vector{1.0, 2.0}));
  EXPECT_EQ(coefficients.axis_labels("barn.water.bouts"), (std::vector<std::string>{"1", "2"}));
  EXPECT_EQ(coefficients.find("barn.water.group").note, "by pen");
  EXPECT_EQ(coefficients[0].path, "barn.water.flow");
}

TEST(Coefficients, WordsOfAnAxisAreLabelsOnly) {
  const Coefficients coefficients = Coefficients().with_file(
      "t: {value: [1, 2], unit: h, low: [1, 2], high: [1, 2], grade: C, source: assumption,"
      " axis: {name: shift, unit: \"-\", at: [day, night]}}",
      "staff");
  EXPECT_EQ(coefficients.axis_labels("staff.t"), (std::vector<std::string>{"day", "night"}));
  EXPECT_THROW(coefficients.axis("staff.t"), InternalError);
}

TEST(Coefficients, AGroupReadsTheRestOfThePath) {
  const Coefficients coefficients = barn::coefficients();
  const auto water = coefficients.group("barn.water");
  EXPECT_EQ(water.number("flow", "L/min"), 2);
  EXPECT_EQ(&water.table("bouts", "1/d"), &coefficients.table("barn.water.bouts", "1/d"));
  EXPECT_EQ(water.axis_labels("bouts"), (std::vector<std::string>{"1", "2"}));
  EXPECT_EQ(coefficients.group("barn").number("water.flow", "L/min"), 2);
  EXPECT_THROW(water.number("flow", "L/h"), InternalError);
  EXPECT_THROW(water.number("flwo", "L/min"), InternalError);
  EXPECT_THROW(coefficients.group("barn.wat").number("er.flow", "L/min"), InternalError);
}

TEST(Coefficients, AskingWronglyIsOurMistake) {
  const Coefficients coefficients = barn::coefficients();
  EXPECT_THROW(coefficients.number("barn.water.flwo", "L/min"), InternalError);
  EXPECT_THROW(coefficients.number("barn.water.bouts", "1/d"), InternalError);
  EXPECT_THROW(coefficients.table("barn.water.flow", "L/min"), InternalError);
  EXPECT_THROW(coefficients.axis("barn.water.flow"), InternalError);
  EXPECT_THROW(coefficients.with_value("barn.water.bouts", 3), InternalError);
  EXPECT_THROW(coefficients.with_table("barn.water.bouts", {1, 2, 3}), InternalError);
  try {
    coefficients.number("barn.water.flow", "L/h");
    FAIL() << "another unit was given out";
  } catch (const InternalError& error) {
    EXPECT_STREQ(error.what(), "The coefficient 'barn.water.flow' is in 'L/min' and was read in 'L/h'.");
  }
}

TEST(Coefficients, AskingForAnUnknownPathSuggestsOne) {
  try {
    barn::coefficients().find("barn.water.flwo");
    FAIL() << "an unknown path was found";
  } catch (const UserError& error) {
    EXPECT_STREQ(error.what(), "There is no coefficient 'barn.water.flwo'. Did you mean barn.water.flow?");
  }
}

TEST(Coefficients, HashMovesWithEveryPartThatCanMoveAResult) {
  const std::string text = barn::coefficient_text;
  const std::string hash = barn::coefficients().hash();
  EXPECT_EQ(hash, Coefficients().with_file("# note\n" + text, "barn").hash());
  const std::pair<const char*, const char*> changes[] = {
      {"value: 2,", "value: 2.0000000000000004,"},
      {"low: 1,", "low: 0.5,"},
      {"high: 4", "high: 5"},
      {"\"L/min\"", "\"L/h\""},
      {"gap:", "gaps:"},
      {"at: [1, 2]", "at: [1, 3]"},
  };
  for (const auto& [from, to] : changes) {
    std::string changed = text;
    changed.replace(changed.find(from), std::string(from).size(), to);
    EXPECT_NE(Coefficients().with_file(changed, "barn").hash(), hash) << to;
  }
}

TEST(Coefficients, OneChangedValueLeavesTheOthersShared) {
  const Coefficients before = barn::coefficients();
  const Coefficients after = before.with_values({{"barn.water.flow", 3}, {"barn.water.gap", 60}});
  EXPECT_EQ(before.number("barn.water.flow", "L/min"), 2);
  EXPECT_EQ(after.number("barn.water.flow", "L/min"), 3);
  EXPECT_EQ(after.number("barn.water.gap", "min"), 60);
  EXPECT_EQ(&before.find("barn.water.group"), &after.find("barn.water.group"));
  EXPECT_EQ(before.with_table("barn.water.bouts", {2, 9}).table("barn.water.bouts", "1/d"), (std::vector{2.0, 9.0}));
  EXPECT_TRUE(after.overlaid_paths().empty());
}

TEST(Overlay, TakesNestedAndDottedPathsAndUnits) {
  const Coefficients overlaid = barn::coefficients().with_overlay(
      "barn:\n"
      "  water:\n"
      "    flow: {value: 1 gal/min, source: own measurement, grade: A, note: ten drinkers}\n"
      "    bouts: [4, 6]\n"
      "barn.water.gap: 1.5 h\n"
      "barn.water.group: {value: 12, outside_range: true}\n",
      "own.yaml");
  EXPECT_DOUBLE_EQ(overlaid.number("barn.water.flow", "L/min"), 3.785411784);
  EXPECT_EQ(overlaid.find("barn.water.flow").source, "own measurement");
  EXPECT_EQ(overlaid.find("barn.water.flow").note, "ten drinkers");
  EXPECT_EQ(overlaid.table("barn.water.bouts", "1/d"), (std::vector{4.0, 6.0}));
  EXPECT_EQ(overlaid.number("barn.water.gap", "min"), 90);
  EXPECT_EQ(overlaid.find("barn.water.gap").source, "overlay own.yaml");
  EXPECT_EQ(overlaid.number("barn.water.group", "piglets"), 12);
  EXPECT_EQ(overlaid.overlaid_paths(), barn::coefficients().paths());
  EXPECT_NE(overlaid.hash(), barn::coefficients().hash());
}

TEST(Overlay, KeepsEveryEntryOfATableInItsRange) {
  EXPECT_EQ(told([] { barn::coefficients().with_overlay("barn.water.bouts: [3, 10]", "own.yaml"); }),
            (std::vector<std::string>{"own.yaml:1:19: barn.water.bouts = [...]: 10 is outside the range of the "
                                      "evidence (2 to 9 1/d; outside_range: true to use it anyway)."}));
}

TEST(Overlay, MovesTheRangeItIsGiven) {
  const Coefficients overlaid =
      barn::coefficients().with_overlay("barn.water.flow: {value: 6, low: 5, high: 7}", "own.yaml");
  EXPECT_EQ(overlaid.find("barn.water.flow").low, std::vector{5.0});
  EXPECT_EQ(overlaid.find("barn.water.flow").high, std::vector{7.0});
}

TEST(Overlay, TellsAllMistakesWhereTheyAre) {
  const char* text =
      "barn:\n"
      "  water:\n"
      "    flwo: 3\n"
      "    flow: 9\n"
      "    bouts: [3]\n"
      "    gap: {value: 60 kg}\n"
      "    group: {value: 4, unit: sows, outside_rnage: true}\n"
      "barn.water.bouts: {value: [3, 10]}\n"
      "barn.watre.gap: 60\n";
  EXPECT_EQ(told([&] { barn::coefficients().with_overlay(text, "own.yaml"); }),
            (std::vector<std::string>{
                "own.yaml:3:5: barn.water.flwo = 3: is not a coefficient. Did you mean barn.water.flow?",
                "own.yaml:4:11: barn.water.flow = 9: 9 is outside the range of the evidence (1 to 4 L/min; "
                "outside_range: true to use it anyway).",
                "own.yaml:5:12: barn.water.bouts = [...]: has 1 values (2).",
                "own.yaml:6:18: barn.water.gap.value = 60 kg: has the unit 'kg' (min, s, h, d, wk).",
                "own.yaml:7:29: barn.water.group.unit = sows: is not the coefficient's unit (piglets).",
                "own.yaml:7:35: barn.water.group.outside_rnage = true: is not a field of a coefficient. Did you mean "
                "outside_range?",
                "own.yaml:8:1: barn.water.bouts = {...}: is given more than once (each coefficient only once).",
                "own.yaml:9:1: barn.watre.gap = 60: is not a coefficient. Did you mean barn.water.gap?",
            }));
}

struct FileRow {
  const char* text;
  const char* told;
};

TEST(CoefficientFile, TellsWhatIsWrongWithAnEntry) {
  const FileRow rows[] = {
      {"a: {value: 3, unit: h, low: 1, high: 2, grade: A, source: x}",
       "f.yaml:1:4: f.a = {...}: does not satisfy low <= value <= high for every entry."},
      {"a: {value: 2, unit: h, low: 1, high: 2, grade: D, source: x}",
       "f.yaml:1:48: f.a.grade = D: is not a grade (A, B or C)."},
      {"a: {value: 2, unit: h, low: 1, high: 2, grade: A}", "f.yaml:1:4: f.a = {...}: has no field 'source'."},
      {"a: {value: 2, unit: h, low: 1, high: 2, grade: A, source: x, soucre: y}",
       "f.yaml:1:62: f.a.soucre = y: is not a field of a coefficient. Did you mean source?"},
      {"a: {value: two, unit: h, low: 1, high: 2, grade: A, source: x}",
       "f.yaml:1:12: f.a.value = two: is not a number (a number in h, s, min, d, wk)."},
      {"a: {value: [1, 2], unit: h, low: [1, 2], high: [1, 2], grade: A, source: x}",
       "f.yaml:1:4: f.a = {...}: has a table without an axis, or an axis without a table."},
      {"a: {value: [1, 2], unit: h, low: [1, 2], high: [1, 2], grade: A, source: x, axis: {name: p, unit: '-', at: "
       "[1]}}",
       "f.yaml:1:4: f.a = {...}: has 2 values (1, one for each point of the axis)."},
      {"a: {value: [1, 2], unit: h, low: [1], high: [1, 2], grade: A, source: x, axis: {name: p, unit: '-', at: [1, "
       "2]}}",
       "f.yaml:1:4: f.a = {...}: does not satisfy low <= value <= high for every entry."},
      {"a: {value: [1], unit: h, low: [1], high: [1], grade: A, source: x, axis: {name: p, at: [1]}}",
       "f.yaml:1:74: f.a.axis = {...}: is not an axis (name, unit and a list 'at')."},
      {"a: {b: 3}", "f.yaml:1:8: f.a.b = 3: is neither a coefficient nor a group of coefficients."},
  };
  for (const FileRow& row : rows) {
    const auto lines = told([&] { Coefficients().with_file(row.text, "f"); });
    ASSERT_FALSE(lines.empty()) << row.text;
    EXPECT_EQ(lines.front(), row.told) << row.text;
  }
}

}  // namespace
}  // namespace farrowtide
