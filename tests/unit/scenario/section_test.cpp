#include "libsim/scenario/section.hpp"

#include <gtest/gtest.h>

#include "tests/unit/scenario/barn.hpp"

namespace farrowtide {
namespace {

using Lines = std::vector<std::string>;

TEST(Section, ReadsEveryKindOfKey) {
  const barn::Barn read = barn::read(barn::full_text);
  EXPECT_EQ(read.title, "north barn");
  EXPECT_DOUBLE_EQ(read.share, 0.3);
  EXPECT_DOUBLE_EQ(read.room_deg_c, 200.0 / 9);
  EXPECT_DOUBLE_EQ(read.band_k, 20.0 / 9);
  EXPECT_EQ(read.delay, 90_min);
  EXPECT_FALSE(read.lit);
  EXPECT_EQ(read.floor, barn::Floor::bedding);
  EXPECT_EQ(read.start, 6_h + 45_min);
  EXPECT_EQ(read.first_day, std::chrono::year(2023) / 2 / 28);
  EXPECT_EQ(read.sizes, (std::vector{10, 12, 14}));
  EXPECT_EQ(read.outputs, (Lines{"litters", "sows"}));
  EXPECT_DOUBLE_EQ(read.fixed_weight_kg.value(), 440 * 0.45359237);
  EXPECT_EQ(read.feeding->told(), "free 5.89670081");
  EXPECT_DOUBLE_EQ(read.drinker.flow_l_per_min, 1.892705892);
  EXPECT_EQ(read.drinker.bouts_per_day, (std::vector{3.0, 4.0}));
  ASSERT_EQ(read.rooms.size(), 3u);
  EXPECT_DOUBLE_EQ(read.rooms[1].area_m2, 92.90304);
  EXPECT_EQ(read.rooms[2].area_m2, 100);
  ASSERT_EQ(read.stores.size(), 1u);
  EXPECT_EQ(read.stores[0].first, "hay");
  EXPECT_TRUE(read.has_lamp);
}

TEST(Section, TakesDefaultsFromTheDeclarationAndTheCoefficients) {
  const barn::Barn read = barn::read("title: a");
  EXPECT_EQ(read.share, 0.5);
  EXPECT_EQ(read.delay, 10_min);
  EXPECT_TRUE(read.lit);
  EXPECT_EQ(read.start, 6_h + 30_min);
  EXPECT_EQ(read.sizes, (std::vector{12, 14}));
  EXPECT_FALSE(read.fixed_weight_kg);
  EXPECT_EQ(read.feeding->told(), "by hand 2");
  EXPECT_EQ(read.drinker.flow_l_per_min, 2);
  EXPECT_EQ(read.drinker.bouts_per_day, (std::vector{3.0, 5.0}));
  EXPECT_EQ(read.drinker.gap_h, 1.5);  // 90 min in the library
  EXPECT_EQ(read.drinker.group, 4);
  EXPECT_TRUE(read.rooms.empty());
  EXPECT_FALSE(read.has_lamp);
}

struct Row {
  const char* yaml;  // behind "title: a", in line 2
  const char* told;  // behind "barn.yaml:2:"
};

// The value's own mistakes, one a row.
TEST(Section, TellsWhatIsWrongWithAValue) {
  const Row rows[] = {
      {"room: 72", "7: room = 72: is outside the range (5 to 40 degC). Did you mean 72 degF?"},
      {"room: 4.9", "7: room = 4.9: is outside the range (5 to 40 degC)."},
      {"room: 22 K", "7: room = 22 K: has the unit 'K' (degC, degF)."},
      {"room: 72 DEGF", "7: room = 72 DEGF: has the unit 'DEGF' (degC, degF). Did you mean degF?"},
      {"room: .nan", "7: room = .nan: is not a finite number (a number in degC, degF)."},
      {"room: -.inf", "7: room = -.inf: is not a finite number (a number in degC, degF)."},
      {"room: Infinity", "7: room = Infinity: is not a finite number (a number in degC, degF)."},
      {"room: 1e999", "7: room = 1e999: is too large or too small to represent (a number in degC, degF)."},
      {"room: 010",
       "7: room = 010: begins with 0 and could be read as octal (a number in degC, degF). Did you mean 10?"},
      {"room: 0x1F", "7: room = 0x1F: is not written in decimal (a number in degC, degF)."},
      {"room: 0o17", "7: room = 0o17: is not written in decimal (a number in degC, degF)."},
      {"room: 22,5", "7: room = 22,5: has a ',' inside (a decimal point, no separators between thousands)."},
      {"room: 2_2", "7: room = 2_2: has a '_' inside (a decimal point, no separators between thousands)."},
      {"room: warm", "7: room = warm: is not a number (a number in degC, degF)."},
      {"room: true", "7: room = true: is not a number (a number in degC, degF)."},
      {"room: \"\"", "7: room = \"\": has no value (a number in degC, degF)."},
      {"room:", "1: room: has no value (a single value)."},
      {"room: ~", "1: room: has no value (a single value)."},
      {"room: [20]", "1: room = [...]: is a list (a single value)."},
      {"room: {a: 1}", "1: room = {...}: is a mapping of keys (a single value)."},
      {"share: 30", "8: share = 30: is outside the range (0 to 1). Did you mean 30 %?"},
      {"share: 130 %", "8: share = 130 %: is outside the range (0 to 1)."},
      {"share: 0.3 kg", "8: share = 0.3 kg: has the unit 'kg' (a plain number or %)."},
      {"delay: 1 kg", "8: delay = 1 kg: has the unit 'kg' (min, s, h, d, wk)."},
      {"delay: 11 h", "8: delay = 11 h: is outside the range (0 to 600 min)."},
      {"lit: yes",
       "6: lit = yes: is read as a boolean by some YAML parsers and as text by others (true or false). Did you mean "
       "true?"},
      {"lit: OFF",
       "6: lit = OFF: is read as a boolean by some YAML parsers and as text by others (true or false). Did you mean "
       "false?"},
      {"lit: True",
       "6: lit = True: is read as a boolean by some YAML parsers and as text by others (true or false). Did you mean "
       "true?"},
      {"lit: 1", "6: lit = 1: is neither true nor false (true or false)."},
      {"lit: \"true\"", "6: lit = \"true\": is quoted text (true or false, without quotes)."},
      {"floor: sltas", "8: floor = sltas: is not one of the choices (slats, bedding). Did you mean slats?"},
      {"floor: Slats", "8: floor = Slats: is not one of the choices (slats, bedding). Did you mean slats?"},
      {"floor: off", "8: floor = off: is a boolean, not one of the choices (slats, bedding)."},
      {"start: 6:45", "8: start = 6:45: is not a time of day (00:00 to 23:59). Did you mean 06:45?"},
      {"start: 24:00", "8: start = 24:00: is not a time of day (00:00 to 23:59)."},
      {"start: 06:60", "8: start = 06:60: is not a time of day (00:00 to 23:59)."},
      {"start: 6", "8: start = 6: is not a time of day (00:00 to 23:59). Did you mean 06:00?"},
      {"start: -1:30", "8: start = -1:30: is not a time of day (00:00 to 23:59)."},
      {"first_day: 2023-02-29",
       "12: first_day = 2023-02-29: does not exist in the calendar (year-month-day, as in 2024-07-01)."},
      {"first_day: 1.7.2024", "12: first_day = 1.7.2024: is not a date (year-month-day, as in 2024-07-01)."},
      {"first_day: 2024-7-1", "12: first_day = 2024-7-1: is not a date (year-month-day, as in 2024-07-01)."},
      {"sizes: 12", "8: sizes = 12: is a single value (a list)."},
      {"sizes: [12, 31]", "13: sizes.1 = 31: is outside the range (0 to 30)."},
      {"sizes: [12.5]", "9: sizes.0 = 12.5: is not a whole number (a whole number, 0 to 30)."},
      {"sizes: [12 kg]", "9: sizes.0 = 12 kg: has a unit or text after the number (a whole number, 0 to 30)."},
      {"sizes: [1e30]", "9: sizes.0 = 1e30: is outside the range (0 to 30)."},
      {"sizes: [[12]]", "9: sizes.0 = [...]: is a list (a single value)."},
      {"outputs: [sow]", "11: outputs.0 = sow: is not one of the choices (sows, litters). Did you mean sows?"},
      {"outputs: [sows, sows]", "1: outputs = [...]: lists 'sows' twice (each only once)."},
      {"fixed_weight: 501", "15: fixed_weight = 501: is outside the range (0 to 500 kg)."},
      {"feeding: {times: [\"08:00\", \"07:00\"]}",
       "11: feeding.times = [...]: is not in order (each time later than the one before)."},
      {"feeding: {times: []}", "18: feeding.times = [...]: has 0 entries (1 to 4)."},
      {"feeding: {kind: free_access}", "1: feeding.amount: is missing (Most she gets)."},
      {"feeding: {kind: free_acces, amount: 900}",
       "17: feeding.kind = free_acces: is not one of the choices (by_hand, free_access). Did you mean free_access?"},
      {"feeding: {kind: by_hand, amount: 2}",
       "26: feeding.amount = 2: is only valid with kind: free_access (known keys: kind, times)."},
      {"feeding: by_hand", "10: feeding = by_hand: is a single value (a mapping of keys)."},
      {"drinker: {bouts: [3]}", "18: drinker.bouts = [...]: has 1 entry (exactly 2)."},
      {"drinker: {flow: 0.02 gal/min}", "17: drinker.flow = 0.02 gal/min: is outside the range (0.1 to 10 L/min)."},
      {"rooms: [{crates: 0}]", "18: rooms.0.crates = 0: is outside the range (1 to 500)."},
      {"rooms: [{}]", "9: rooms.0.crates: is missing (Crates in the room)."},
      {"rooms: [3]", "9: rooms.0 = 3: is a single value (a mapping of keys)."},
      {"rooms: {crates: 3}", "1: rooms = {...}: is a mapping of keys (a list)."},
      {"stores: {hay: {crates: x}}", "24: stores.hay.crates = x: is not a number (a whole number, 1 to 500)."},
      {"stores: {hay: 3}", "15: stores.hay = 3: is a single value (a mapping of keys)."},
      {"lamp:", "1: lamp.power: is missing (Electric power)."},
      {"lamp: on", "7: lamp = on: is a single value (a mapping of keys)."},
      {"flor: slats", "1: flor = slats: is not a known key here. Did you mean floor?"},
      {"power: 3", "1: power = 3: is not a known key here."},
      {"drinker: {crates: 3}",
       "11: drinker.crates = 3: is not a known key here (known keys: flow, bouts, gap, group)."},
  };
  for (const Row& row : rows) {
    const std::string told = std::string("barn.yaml:2:").append(row.told);
    EXPECT_EQ(barn::mistakes(std::string("title: a\n").append(row.yaml)), Lines{told}) << row.yaml;
  }
}

TEST(Section, TakesBothEndsOfARange) {
  for (const char* yaml : {"share: 0", "share: 1", "share: 100 %", "room: 5", "room: 41 degF", "room: 104 degF",
                           "sizes: [0, 30]", "delay: 10 h", "drinker: {flow: 100 mL/min}"}) {
    EXPECT_EQ(barn::mistakes(std::string("title: a\n").append(yaml)), Lines{}) << yaml;
  }
}

TEST(Section, TellsWhatIsWrongWithAText) {
  for (const char* word : {"yes", "No", "on", "OFF", "true", "n"}) {
    const Lines told = barn::mistakes(std::string("title: ").append(word));
    ASSERT_EQ(told.size(), 1u) << word;
    EXPECT_NE(told[0].find(std::string("Did you mean \"").append(word)), std::string::npos) << told[0];
    EXPECT_EQ(barn::read(std::string("title: '").append(word) + "'").title, word);
  }
}

TEST(Section, TellsAllMistakesInTheOrderOfTheFile) {
  EXPECT_EQ(barn::mistakes("room: 99 kg\nlamp: {pwoer: 3}\nshare: 2\nroom: 3\n"),
            (Lines{
                "barn.yaml:1:1: title: is missing (What it is about).",
                "barn.yaml:1:7: room = 99 kg: has the unit 'kg' (degC, degF).",
                "barn.yaml:2:1: lamp.power: is missing (Electric power).",
                "barn.yaml:2:8: lamp.pwoer = 3: is not a known key here (known keys: power). Did you mean power?",
                "barn.yaml:3:8: share = 2: is outside the range (0 to 1). Did you mean 2 %?",
                "barn.yaml:4:1: room = 3: is repeated, first given on line 1 (each key only once).",
            }));
}

TEST(Section, ErrorCarriesTheSameMistakeOnce) {
  const Mistake second{.source = "b", .line = 2, .column = 1, .problem = "is odd"};
  const Mistake first{.source = "b", .line = 1, .column = 9, .problem = "is even"};
  const ScenarioError error({second, first, second});
  EXPECT_EQ(error.mistakes(), (std::vector{first, second}));
  EXPECT_STREQ(error.what(), "b:1:9: is even.\nb:2:1: is odd.");
}

TEST(Section, RulesBetweenKeysAreToldAtTheKey) {
  const Document document = Document::from_text("low: 3\nhigh: 2", "x.yaml");
  Reading reading(document, Coefficients());
  Section root = reading.root();
  const double low = root.number({.name = "low"}), high = root.number({.name = "high"});
  if (low > high) root.refuse("high", "is below low", "at least 3");
  try {
    reading.finish();
    FAIL() << "a recorded mistake was not thrown";
  } catch (const ScenarioError& error) {
    EXPECT_STREQ(error.what(), "x.yaml:2:7: high = 2: is below low (at least 3).");
  }
}

TEST(Closest, FindsWhatWasMeantAndNothingElse) {
  const std::vector<std::string> keys{"feeding", "floor", "flow", "kg"};
  const std::pair<const char*, const char*> rows[] = {
      {"feedign", "feeding"}, {"feding", "feeding"}, {"flor", "floor"}, {"floww", "flow"},
      {"fold", "flow"},       {"lamp", ""},          {"xyz", ""},       {"", ""},
      {"weather", ""},        {"g", "kg"},           {"FLOW", "flow"},  {"Kg", "kg"},
  };
  for (const auto& [word, meant] : rows) EXPECT_EQ(closest(word, keys), meant) << word;
}

struct Renamed {
  int max = 0;
  std::vector<double> loads_kg;

  static Renamed read(Section& section) {
    Renamed renamed;
    renamed.max = section.integer({.name = "max", .low = 0, .high = 9, .default_value = 5, .aliases = {"most", "top"}});
    renamed.loads_kg = section.numbers(
        {.name = "loads", .unit = "kg", .default_value = std::vector<double>{}, .aliases = {"weights"}});
    if (renamed.max == 7) section.refuse("max", "is unlucky");
    return renamed;
  }
};

Renamed read_renamed(const char* yaml) {
  return read_settings<Renamed>(Document::from_text(yaml, "x.yaml"), Coefficients());
}

TEST(Section, ReadsAKeyByAnEarlierName) {
  EXPECT_EQ(read_renamed("max: 3").max, 3);
  EXPECT_EQ(read_renamed("most: 3").max, 3);
  EXPECT_EQ(read_renamed("top: 3\nweights: [2 kg]").max, 3);
  EXPECT_EQ(read_renamed("weights: [2, 3000 g]").loads_kg, (std::vector{2.0, 3.0}));
  EXPECT_EQ(read_renamed("{}").max, 5);
}

TEST(Section, TellsMistakesUnderTheNameThatWasWritten) {
  const std::pair<const char*, const char*> rows[] = {
      {"most: 12", "x.yaml:1:7: most = 12: is outside the range (0 to 9)."},
      {"most: 7", "x.yaml:1:7: most = 7: is unlucky."},
      {"weights: [1 L]", "x.yaml:1:11: weights.0 = 1 L: has the unit 'L' (kg,"},
      {"max: 1\nmost: 2", "x.yaml:2:7: most = 2: is another name for max, which is also given (only one of them)."},
      {"top: 1\nmost: 2", "x.yaml:1:6: top = 1: is another name for most, which is also given (only one of them)."},
      {"mots: 1", "x.yaml:1:1: mots = 1: is not a known key here (known keys: max, loads)."},
  };
  for (const auto& [yaml, message] : rows) {
    try {
      read_renamed(yaml);
      ADD_FAILURE() << yaml << " was read";
    } catch (const ScenarioError& error) {
      EXPECT_TRUE(std::string(error.what()).starts_with(message)) << error.what();
    }
  }
}

struct TakenAlias {
  static TakenAlias read(Section& section) {
    section.integer({.name = "most", .default_value = 1});
    section.integer({.name = "max", .default_value = 1, .aliases = {"most"}});
    return {};
  }
};

struct Twice {
  static Twice read(Section& section) {
    section.integer({.name = "a", .default_value = 1});
    section.integer({.name = "a", .default_value = 1});
    return {};
  }
};

struct UnknownCoefficient {
  static UnknownCoefficient read(Section& section) {
    section.number({.name = "a", .coefficient = "barn.water.flwo"});
    return {};
  }
};

struct OtherUnit {
  static OtherUnit read(Section& section) {
    section.number({.name = "a", .unit = "kg", .coefficient = "barn.water.flow"});
    return {};
  }
};

struct BadTime {
  static BadTime read(Section& section) {
    section.time_of_day({.name = "a", .default_value = "25:00"});
    return {};
  }
};

TEST(Section, WrongDeclarationsAreOurMistake) {
  EXPECT_THROW(describe_settings<Twice>(Coefficients()), InternalError);
  EXPECT_THROW(describe_settings<TakenAlias>(Coefficients()), InternalError);
  EXPECT_THROW(describe_settings<UnknownCoefficient>(barn::coefficients()), InternalError);
  EXPECT_THROW(describe_settings<OtherUnit>(barn::coefficients()), InternalError);
  EXPECT_THROW(describe_settings<BadTime>(Coefficients()), InternalError);
}

TEST(Section, DescribingVisitsEveryVariantOfTheCatalogue) {
  const Declaration root = describe_settings<barn::Barn>(barn::coefficients());
  const auto named = [](const std::list<Declaration>& keys, const std::string& name) -> const Declaration& {
    for (const Declaration& key : keys) {
      if (key.name == name) return key;
    }
    throw InternalError("no key " + name);
  };
  const Declaration& kind = named(named(root.keys, "feeding").keys, "kind");
  ASSERT_EQ(kind.variants.size(), barn::feeding_catalogue().size());
  EXPECT_EQ(kind.variants.front().keys.front().name, "times");
  EXPECT_EQ(kind.variants.back().keys.front().name, "amount");
  EXPECT_EQ(named(root.keys, "fixed_weight").presence, Declaration::Presence::optional);
  EXPECT_EQ(named(root.keys, "title").presence, Declaration::Presence::required);
  const Declaration& gap = named(named(root.keys, "drinker").keys, "gap");
  EXPECT_EQ(gap.default_value, "1.5");
  EXPECT_EQ(gap.source, "Author 2002, Journal 2:2");
  EXPECT_EQ(gap.grade, "B");
}

}  // namespace
}  // namespace farrowtide
