// Scenarios decided by bytes: a fuzzer that changes a byte changes a key or a value, never the grammar.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <map>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "libsim/kernel/names.hpp"
#include "libsim/scenario/declaration.hpp"
#include "libsim/scenario/units.hpp"

namespace farrowtide {

// Each decision takes the next byte, in an order that no compiler may choose: never two in one expression. Behind the
// last one every byte is 0, which leaves a key out.
class Bytes {
 public:
  Bytes(const std::uint8_t* data, std::size_t size) : data_(data), size_(size) {}

  unsigned byte() { return place_ < size_ ? data_[place_++] : 0; }
  unsigned two_bytes() {
    const unsigned first = byte();
    return first * 256 + byte();
  }
  std::size_t below(std::size_t bound) { return bound == 0 ? 0 : byte() % bound; }
  bool one_in(unsigned n) { return byte() % n == n - 1; }

 private:
  const std::uint8_t* data_;
  std::size_t size_;
  std::size_t place_ = 0;
};

// A value of a scenario: a scalar as it is written, a list, or a mapping.
struct Drawn {
  enum class Kind { scalar, list, mapping };
  Kind kind = Kind::scalar;
  std::string text = {};
  std::vector<std::pair<std::string, Drawn>> entries = {};  // of a list: without names

  Drawn* find(std::string_view name) {
    const auto found = std::ranges::find_if(entries, [&](const auto& entry) { return entry.first == name; });
    return found == entries.end() ? nullptr : &found->second;
  }
};

inline std::string in_quotes(std::string_view text) {
  std::string inside = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') inside += '\\';
    inside += c;
  }
  return inside + '"';
}

// In YAML's flow style.
inline std::string written(const Drawn& drawn) {
  if (drawn.kind == Drawn::Kind::scalar) return drawn.text;
  const bool is_list = drawn.kind == Drawn::Kind::list;
  std::string text(1, is_list ? '[' : '{');
  for (const auto& [name, value] : drawn.entries) {
    if (text.size() > 1) text += ", ";
    if (!is_list) text += in_quotes(name) + ": ";
    text += written(value);
  }
  return text + (is_list ? ']' : '}');
}

// A file with a line for each top-level key.
inline std::string as_file(const Drawn& scenario) {
  std::string text;
  for (const auto& [name, value] : scenario.entries) text += in_quotes(name) + ": " + written(value) + "\n";
  return text;
}

// Removes the value at a dotted path, of which a name may hold dots itself; an entry of a list goes as a whole.
inline bool drop(Drawn& from, std::string_view path) {
  for (std::size_t end = path.size(); end != std::string_view::npos && end > 0; end = path.rfind('.', end - 1)) {
    const std::string_view name = path.substr(0, end);
    auto found = std::ranges::find_if(from.entries, [&](const auto& entry) { return entry.first == name; });
    if (found == from.entries.end()) continue;
    Drawn& value = found->second;
    if (end < path.size() && value.kind == Drawn::Kind::mapping && drop(value, path.substr(end + 1))) return true;
    from.entries.erase(found);
    return true;
  }
  return false;
}

// Draws what a declaration allows: often an end of a range, in any unit, seldom something that it does not allow.
class Drawing {
 public:
  explicit Drawing(Bytes& bytes) : bytes_(bytes) {}

  Drawn scenario(const Declaration& root) {
    Drawn all = mapping(root.keys, "");
    for (const char* key : {"cases", "alternatives"}) {
      Drawn named{.kind = Drawn::Kind::mapping};
      for (std::size_t n = bytes_.below(4); n > 0; --n) {
        std::string called = name();
        named.entries.emplace_back(std::move(called), changes(root));
      }
      if (!named.entries.empty()) all.entries.emplace_back(key, std::move(named));
    }
    return all;
  }

 private:
  using Kind = Declaration::Kind;

  // The most of what would make a scenario too large for thousands of runs.
  static double affordable(const std::string& path, double high) {
    static const std::map<std::string, double> most = {
        {"room.crates", 4},          {"moves.from", 4},         {"moves.to", 4},
        {"staff.shifts.people", 6},  {"farm.groups", 2},        {"farm.rooms", 8},
        {"farm.rooms_per_group", 2}, {"farm.warm_up_groups", 1}};
    const auto found = most.find(path);
    return found == most.end() ? high : found->second;
  }

  Drawn mapping(const std::list<Declaration>& keys, const std::string& path) {
    Drawn all{.kind = Drawn::Kind::mapping};
    add(all, keys, path);
    if (path == "climate") add_weather(all);
    return all;
  }

  void add(Drawn& all, const std::list<Declaration>& keys, const std::string& path) {
    for (const Declaration& key : keys) {
      const std::string own = path.empty() ? key.name : path + "." + key.name;
      const bool always = key.presence == Declaration::Presence::required || own == "room" || own == "room.crates";
      const bool often = key.kind == Kind::section || !key.variants.empty();
      std::string chosen = key.default_value;
      if (key.kind != Kind::anything && (always || bytes_.one_in(often ? 2 : 4))) {
        Drawn drawn = value(key, own);
        chosen = drawn.text;
        const bool alias = !key.aliases.empty() && bytes_.one_in(8);
        all.entries.emplace_back(alias ? key.aliases.front() : key.name, std::move(drawn));
      }
      for (const Declaration::Variant& variant : key.variants) {
        if (chosen == in_quotes(variant.name) || chosen == variant.name) add(all, variant.keys, path);
      }
    }
  }

  // Days of a record that reaches from loading to weaning: hours drawn each for itself would never be enough.
  void add_weather(Drawn& climate) {
    constexpr int days = 60;
    drop(climate, "outdoor_hours");
    drop(climate, "outdoor_humidity_hours");
    if (!bytes_.one_in(16)) return;
    for (const auto& [key, low, span] : {std::tuple("outdoor_hours", -50, 105), {"outdoor_humidity_hours", 1, 99}}) {
      Drawn hours{.kind = Drawn::Kind::list};
      const int night = low + static_cast<int>(bytes_.byte()) * span / 255;
      const int noon = low + static_cast<int>(bytes_.byte()) * span / 255;
      for (int hour = 0; hour < 24 * days; ++hour)
        hours.entries.emplace_back("", Drawn{.text = std::to_string(hour % 24 < 12 ? night : noon)});
      climate.entries.emplace_back(key, std::move(hours));
    }
  }

  // What a case or an alternative replaces: whole sections, or keys by their dotted paths.
  Drawn changes(const Declaration& root) {
    static constexpr std::array<std::string_view, 5> of_the_study = {"title", "question", "study", "cases",
                                                                     "alternatives"};
    Drawn changed{.kind = Drawn::Kind::mapping};
    for (const Declaration& key : root.keys) {
      if (std::ranges::find(of_the_study, key.name) != of_the_study.end() || !bytes_.one_in(8)) continue;
      Drawn drawn = value(key, key.name);
      if (drawn.kind != Drawn::Kind::mapping || bytes_.one_in(2)) {
        changed.entries.emplace_back(key.name, std::move(drawn));
        continue;
      }
      for (auto& [name, inner] : drawn.entries) changed.entries.emplace_back(key.name + "." + name, std::move(inner));
    }
    return changed;
  }

  Drawn value(const Declaration& key, const std::string& path) {
    if (bytes_.byte() == 255) return {.text = odd()};
    switch (key.kind) {
      case Kind::section:
      case Kind::named:
        return mapping(key.keys, path);
      case Kind::list:
        return entries(0, 4, [&] { return mapping(key.keys, path); });
      case Kind::numbers:
      case Kind::integers:
        return entries(key.min_items, key.max_items, [&] { return Drawn{.text = number(key, path)}; });
      case Kind::strings:
        return entries(key.min_items, key.options.size(), [&] { return Drawn{.text = in_quotes(option(key))}; });
      case Kind::times_of_day:
        return times(key);
      case Kind::anything:
        break;
      default:
        return {.text = scalar(key, path)};
    }
    return {.text = "{}"};
  }

  std::string scalar(const Declaration& key, const std::string& path) {
    switch (key.kind) {
      case Kind::boolean:
        return bytes_.one_in(2) ? "true" : "false";
      case Kind::choice:
        return in_quotes(option(key));
      case Kind::time_of_day:
        return in_quotes(clock(bytes_.two_bytes() % (24 * 60)));
      case Kind::date:
        return date();
      case Kind::string:
        return path == "study.reference" ? "\"\"" : in_quotes(name());
      default:
        return number(key, path);
    }
  }

  std::string number(const Declaration& key, const std::string& path) {
    constexpr double widest = 2147483647;
    const double low = std::max(key.low, -widest), high = affordable(path, std::min(key.high, widest));
    const unsigned way = bytes_.byte();
    const double share = way % 4 == 0 ? 0 : way % 4 == 1 ? 1 : bytes_.two_bytes() / 65535.0;
    const double drawn = low + share * (high - low);
    if (key.kind == Kind::integer || key.kind == Kind::integers) return number_text(std::floor(drawn));
    char rounded[32];
    std::snprintf(rounded, sizeof rounded, "%.4g", drawn);
    const double value = std::clamp(std::atof(rounded), low, high);
    const std::vector<std::string> units = way >= 192 ? units_like(key.unit) : std::vector<std::string>{};
    if (units.empty()) return number_text(value);
    const std::string& unit = units[bytes_.below(units.size())];
    return in_quotes(number_text(convert(value, key.unit, unit).value_or(value)) + " " + unit);
  }

  Drawn times(const Declaration& key) {
    std::vector<unsigned> minutes;
    for (std::size_t n = key.min_items + bytes_.below(std::min<std::size_t>(key.max_items - key.min_items, 6) + 1);
         n > 0; --n)
      minutes.push_back(bytes_.two_bytes() % (24 * 60));
    std::ranges::sort(minutes);
    Drawn all{.kind = Drawn::Kind::list};
    for (const unsigned minute : minutes) all.entries.emplace_back("", Drawn{.text = in_quotes(clock(minute))});
    return all;
  }

  template <class Draw>
  Drawn entries(std::size_t fewest, std::size_t most, Draw draw) {
    Drawn all{.kind = Drawn::Kind::list};
    const std::size_t more = std::min<std::size_t>(most < fewest ? 0 : most - fewest, 4);
    for (std::size_t n = fewest + bytes_.below(more + 1); n > 0; --n) all.entries.emplace_back("", draw());
    return all;
  }

  std::string option(const Declaration& key) {
    return key.options.empty() ? name() : key.options[bytes_.below(key.options.size())];
  }

  std::string name() {
    static constexpr std::array names = {"a", "b", "2 feeds", "[/b]", "=1+1", "20 °C, günstig", "x.y", "", "\\\"", "0"};
    return names[bytes_.below(names.size())];
  }

  std::string date() {
    char text[32];
    const unsigned year = 1900 + bytes_.two_bytes() % 300, month = 1 + bytes_.byte() % 12, day = 1 + bytes_.byte() % 31;
    std::snprintf(text, sizeof text, "%04u-%02u-%02u", year, month, day);
    return text;
  }

  static std::string clock(unsigned minute) {
    char text[16];
    std::snprintf(text, sizeof text, "%02u:%02u", minute / 60, minute % 60);
    return text;
  }

  // What a hand may write in place of a value.
  const char* odd() {
    static constexpr std::array texts = {
        "~",      "",          "yes",    ".nan",       "-.inf",   "1e309", "-0",
        "1e-320", "0x10",      "010",    "24:00",      "{}",      "[]",    "[[1]]",
        "{a: 1}", "5 furlong", "1 kg/d", "2024-02-30", "-1",      "1e18",  "9223372036854775808",
        "\"\"",   "\"\\0\"",   "&a 1",   "*a",         "!!str 1", "0.5",   "1_000"};
    return texts[bytes_.below(texts.size())];
  }

  Bytes& bytes_;
};

}  // namespace farrowtide
