// One table per enum: the name of each value, for scenarios, records, traces, bindings and Python. It is declared
// beside the enum, in the same order, and found by argument-dependent lookup:
//
//   enum class Sign { udder, not_eaten };
//   constexpr auto names(Sign) {
//     return std::to_array<Name<Sign>>({{Sign::udder, "udder"}, {Sign::not_eaten, "not_eaten", "not eating or
//     drinking"}});
//   }
//
// An incomplete table does not compile.
#pragma once

#include <algorithm>
#include <array>
#include <cstddef>
#include <optional>
#include <string_view>
#include <utility>

namespace farrowtide {

template <class Enum>
struct Name {
  Enum value;
  std::string_view name;
  std::string_view label = name;  // in sentences
};

// The identifier of an enumerator as the compiler spells it; empty for a value that is no enumerator.
template <auto value>
constexpr std::string_view identifier() {
  constexpr std::string_view mark = "value = ", function = __PRETTY_FUNCTION__;
  constexpr auto begin = function.find(mark) + mark.size();
  constexpr std::string_view spelt = function.substr(begin, function.find_first_of(";]", begin) - begin);
  return spelt.starts_with('(') ? std::string_view{} : spelt.substr(spelt.rfind(':') + 1);
}

template <class Enum, std::size_t... i>
constexpr auto identifiers(std::index_sequence<i...>) {
  return std::array{identifier<static_cast<Enum>(i)>()...};
}

// For an enum whose values have gaps: the table of its enumerators below `end`, each called by its identifier.
template <class Enum, std::size_t end>
constexpr auto names_by_identifier() {
  constexpr auto spelt = identifiers<Enum>(std::make_index_sequence<end>{});
  std::array<Name<Enum>, end - static_cast<std::size_t>(std::ranges::count(spelt, std::string_view{}))> table{};
  auto row = table.begin();
  for (std::size_t i = 0; i < end; ++i) {
    if (!spelt[i].empty()) *row++ = {static_cast<Enum>(i), spelt[i]};
  }
  return table;
}

// The table of an enum whose values are 0, 1, 2, ...
template <class Enum>
class NameTable {
 public:
  static constexpr auto rows = names(Enum{});
  static constexpr std::size_t size = rows.size();

  // The names alone, in the order of the values: the labels of a column of codes.
  static constexpr auto all = [] {
    std::array<std::string_view, size> all{};
    std::ranges::transform(rows, all.begin(), &Name<Enum>::name);
    return all;
  }();

 private:
  static constexpr bool is_in_order() {
    for (std::size_t i = 0; i < size; ++i) {
      if (rows[i].value != static_cast<Enum>(i) || rows[i].name.empty()) return false;
    }
    return true;
  }
  static_assert(is_in_order(), "a row for each value, in the order of the enum");
  static_assert(identifier<static_cast<Enum>(size)>().empty(), "a value has no row");
};

template <class Enum>
constexpr std::string_view name_of(Enum value) {
  return NameTable<Enum>::rows.at(static_cast<std::size_t>(value)).name;
}

template <class Enum>
constexpr std::string_view label_of(Enum value) {
  return NameTable<Enum>::rows.at(static_cast<std::size_t>(value)).label;
}

template <class Enum>
constexpr std::optional<Enum> value_named(std::string_view name) {
  for (const Name<Enum>& row : NameTable<Enum>::rows) {
    if (row.name == name) return row.value;
  }
  return std::nullopt;
}

}  // namespace farrowtide
