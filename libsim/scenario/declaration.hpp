// What a settings struct says about its keys. One declaration feeds the reader, the key reference, the schema for
// editors and `explain`.
#pragma once

#include <algorithm>
#include <cstdint>
#include <limits>
#include <list>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace farrowtide {

inline constexpr double unbounded = std::numeric_limits<double>::infinity();

// Without `default_value` (and without `coefficient`) a key is required.
// `coefficient` names a path of the coefficient library that gives default, source and grade; its unit is converted.
// `aliases` are earlier names of the key, which files may still use.
// `only_with` names a choice without which the key has no effect: "climate.kind: imposed", or several "a.kind: x, y".
struct Number {
  std::string name;
  std::string unit = "-";
  double low = -unbounded;
  double high = unbounded;
  std::optional<double> default_value = {};
  std::string help = {};
  std::string source = {};
  std::string grade = {};
  std::string coefficient = {};
  std::vector<std::string> aliases = {};
  std::string only_with = {};
};

struct Integer {
  std::string name;
  int low = std::numeric_limits<int>::min();
  int high = std::numeric_limits<int>::max();
  std::optional<int> default_value = {};
  std::string help = {};
  std::string source = {};
  std::string grade = {};
  std::string coefficient = {};
  std::vector<std::string> aliases = {};
  std::string only_with = {};
};

// A whole number of 64 bits, which a double does not hold exactly.
struct Seed {
  std::string name;
  std::optional<std::uint64_t> default_value = {};
  std::string help = {};
  std::vector<std::string> aliases = {};
};

struct Bool {
  std::string name;
  std::optional<bool> default_value = {};
  std::string help = {};
  std::vector<std::string> aliases = {};
  std::string only_with = {};
};

struct String {
  std::string name;
  std::optional<std::string> default_value = {};
  std::string help = {};
  std::vector<std::string> aliases = {};
};

struct Choice {
  std::string name;
  std::vector<std::string> options = {};
  std::optional<std::string> default_value = {};
  std::string help = {};
  std::string source = {};
  std::string grade = {};
  std::vector<std::string> aliases = {};
  std::string only_with = {};
};

struct TimeOfDay {
  std::string name;
  std::optional<std::string> default_value = {};  // "06:30"
  std::string help = {};
  std::vector<std::string> aliases = {};
  std::string only_with = {};
};

// Increasing times.
struct TimesOfDay {
  std::string name;
  std::size_t min_items = 0;
  std::size_t max_items = 1000;
  std::optional<std::vector<std::string>> default_value = {};
  std::string help = {};
  std::vector<std::string> aliases = {};
};

struct Date {
  std::string name;
  std::optional<std::string> default_value = {};  // "2024-07-01"
  std::string help = {};
  std::vector<std::string> aliases = {};
};

struct Numbers {
  std::string name;
  std::string unit = "-";
  double low = -unbounded;
  double high = unbounded;
  std::size_t min_items = 0;
  std::size_t max_items = 1000000;
  std::optional<std::vector<double>> default_value = {};
  std::string help = {};
  std::string source = {};
  std::string grade = {};
  std::string coefficient = {};  // of a table
  std::vector<std::string> aliases = {};
  std::string only_with = {};
};

struct Integers {
  std::string name;
  int low = std::numeric_limits<int>::min();
  int high = std::numeric_limits<int>::max();
  std::size_t min_items = 0;
  std::size_t max_items = 1000000;
  std::optional<std::vector<int>> default_value = {};
  std::string help = {};
  std::vector<std::string> aliases = {};
};

// A list of texts; with options, each must be one of them and none may be repeated.
struct Strings {
  std::string name;
  std::vector<std::string> options = {};
  std::size_t min_items = 0;
  std::size_t max_items = 1000;
  std::optional<std::vector<std::string>> default_value = {};
  std::string help = {};
  std::vector<std::string> aliases = {};
};

// A declared key of any kind.
struct Declaration {
  enum class Kind {
    number,
    integer,
    boolean,
    string,
    choice,
    time_of_day,
    times_of_day,
    date,
    numbers,
    integers,
    strings,
    section,   // a mapping with declared keys
    list,      // a list of such mappings
    named,     // a mapping of user-chosen names to such mappings
    anything,  // not read here
  };
  enum class Presence { required, has_default, optional };
  struct Variant {
    std::string name;
    std::string help;
    std::list<Declaration> keys;
  };

  Kind kind = Kind::section;
  Presence presence = Presence::required;
  std::string name = {};
  std::vector<std::string> aliases = {};
  std::string help = {};
  std::string unit = {};
  double low = -unbounded;
  double high = unbounded;
  std::size_t min_items = 0;  // entries of a list
  std::size_t max_items = std::numeric_limits<std::size_t>::max();
  std::string default_value = {};  // as it is written in a file
  std::vector<std::string> options = {};
  std::string source = {};
  std::string grade = {};
  std::string coefficient = {};
  std::string only_with = {};
  std::list<Declaration> keys = {};  // of a section, of each entry of a list, of each named mapping
  std::list<Variant> variants = {};  // of a choice: each option's own keys, which stand beside the choice

  bool is_called(std::string_view word) const {  // by its name or an alias
    return name == word || std::find(aliases.begin(), aliases.end(), word) != aliases.end();
  }
};

}  // namespace farrowtide
