// The keys of a section that hold values; parts and lists of parts are in section.cpp.
#include <algorithm>
#include <cmath>
#include <cstdio>

#include "libsim/scenario/section.hpp"
#include "libsim/scenario/units.hpp"

namespace farrowtide {
namespace {

using Kind = Declaration::Kind;
using Presence = Declaration::Presence;

std::string clock_text(const std::string& text) { return '"' + text + '"'; }

template <class Value, class Write>
std::string list_text(const std::vector<Value>& values, Write write) {
  std::vector<std::string> words;
  for (const Value& value : values) words.push_back(write(value));
  return std::string("[").append(joined(words, ", ")).append("]");
}

template <class Value, class Write>
void set_default(Declaration& declaration, const std::optional<Value>& value, Write write) {
  if (!value) return;
  declaration.presence = Presence::has_default;
  declaration.default_value = write(*value);
}

std::string same(const std::string& text) { return text; }
std::string truth_text(bool value) { return value ? "true" : "false"; }
std::string time_text(Duration time) {
  return clock_text(to_string(Time{time}).substr(sizeof "day 0", sizeof "00:00" - 1));
}
std::string with_unit(double value, const std::string& unit) {
  return number_text(value) + (unit == "-" ? "" : " " + unit);
}

std::string date_text(std::chrono::year_month_day date) {
  char text[32];
  std::snprintf(text, sizeof text, "%04d-%02u-%02u", static_cast<int>(date.year()), static_cast<unsigned>(date.month()),
                static_cast<unsigned>(date.day()));
  return text;
}

template <class Key>
Declaration base(Kind kind, const Key& key) {
  Declaration declaration;
  declaration.kind = kind;
  declaration.name = key.name;
  declaration.aliases = key.aliases;
  declaration.help = key.help;
  if constexpr (requires { key.only_with; }) declaration.only_with = key.only_with;
  return declaration;
}

// The fields that keys of numbers have in common.
template <class Key>
Declaration numeric(Kind kind, const Key& key) {
  Declaration declaration = base(kind, key);
  declaration.low = key.low;
  declaration.high = key.high;
  if constexpr (requires { key.unit; }) declaration.unit = key.unit;
  if constexpr (requires { key.min_items; })
    declaration.min_items = key.min_items, declaration.max_items = key.max_items;
  if constexpr (requires { key.source; }) declaration.source = key.source, declaration.grade = key.grade;
  return declaration;
}

double in_unit(double value, const Coefficient& coefficient, std::string_view unit, std::string_view key) {
  if (const std::optional<double> converted = convert(value, coefficient.unit, unit)) return *converted;
  throw InternalError("The key '" + std::string(key) + "' in " + std::string(unit) + " takes its default from '" +
                      coefficient.path + "' in " + coefficient.unit + ".");
}

// The default, source and grade a key takes from the coefficient library.
template <class Key>
const Coefficient* cited(Key& key, const Coefficients& coefficients) {
  if (key.coefficient.empty()) return nullptr;
  if (!coefficients.has(key.coefficient)) {
    throw InternalError("The key '" + key.name + "' cites the unknown coefficient '" + key.coefficient + "'.");
  }
  const Coefficient& coefficient = coefficients.find(key.coefficient);
  if (key.source.empty()) key.source = coefficient.source;
  if (key.grade.empty()) key.grade = coefficient.grade;
  return key.default_value ? nullptr : &coefficient;
}

Number completed(Number key, const Coefficients& coefficients) {
  const Coefficient* coefficient = cited(key, coefficients);
  if (coefficient) key.default_value = in_unit(coefficient->value.front(), *coefficient, key.unit, key.name);
  return key;
}

Integer completed(Integer key, const Coefficients& coefficients) {
  const Coefficient* coefficient = cited(key, coefficients);
  if (coefficient) key.default_value = static_cast<int>(std::lround(coefficient->value.front()));
  return key;
}

Numbers completed(Numbers key, const Coefficients& coefficients) {
  if (const Coefficient* coefficient = cited(key, coefficients)) {
    key.default_value.emplace();
    for (const double value : coefficient->value)
      key.default_value->push_back(in_unit(value, *coefficient, key.unit, key.name));
  }
  return key;
}

double nearest_to_zero(double low, double high) { return std::clamp(0.0, low, std::max(low, high)); }

std::string count_text(const Declaration& declaration) {
  const bool no_limit = declaration.max_items >= 1000;
  if (declaration.min_items == declaration.max_items) return "exactly " + std::to_string(declaration.min_items);
  return no_limit ? "at least " + std::to_string(declaration.min_items)
                  : std::to_string(declaration.min_items) + " to " + std::to_string(declaration.max_items);
}

Duration default_time(const std::string& text) {
  Node node;
  node.text = text;
  const Parsed<Duration> time = parse_time_of_day(node);
  if (!time.value) throw InternalError("The default '" + text + "' is not a time of day.");
  return *time.value;
}

std::chrono::year_month_day default_date(const std::string& text) {
  Node node;
  node.text = text;
  const auto date = parse_date(node);
  if (!date.value) throw InternalError("The default '" + text + "' is not a date.");
  return *date.value;
}

}  // namespace

template <class Parse>
auto Section::parsed(const Declaration& declaration, Parse parse)
    -> decltype(parse(std::declval<const Node&>()).value) {
  const Node::Entry* entry = given(declaration, Node::Kind::scalar);
  if (!entry) return {};
  auto result = parse(*entry->value);
  if (!result.value) record(*entry->value, entry->key, result.complaint);
  return result.value;
}

void Section::note(const Declaration& declaration, std::string value) {
  const Node::Entry* entry = find(declaration.name);
  const bool absent = !entry && declaration.presence == Presence::optional;
  if (describing() || absent) return;
  reading_->in_effect_.push_back({path(declaration.name), std::move(value), entry != nullptr,
                                  entry ? entry->place : Place{},
                                  declaration.only_with.empty() ? frame_->only_with : declaration.only_with});
}

template <class Parse>
auto Section::parsed_list(const Declaration& declaration, Parse parse)
    -> std::optional<std::vector<typename decltype(parse(std::declval<const Node&>()).value)::value_type>> {
  const Node::Entry* entry = given(declaration, Node::Kind::list);
  if (!entry) return {};
  const std::vector<NodeRef>& items = entry->value->items;
  std::vector<typename decltype(parse(std::declval<const Node&>()).value)::value_type> values;
  bool good = true;
  for (std::size_t i = 0; i < items.size(); ++i) {
    const Node& item = *items[i];
    auto result = item.kind == Node::Kind::scalar
                      ? parse(item)
                      : decltype(parse(item))(Complaint{"is " + kind_words(item.kind), "a single value"});
    if (result.value)
      values.push_back(*result.value);
    else
      record(item, entry->key + "." + std::to_string(i), result.complaint), good = false;
  }
  if (items.size() < declaration.min_items || items.size() > declaration.max_items) {
    record(
        *entry->value, entry->key,
        {"has " + std::to_string(items.size()) + (items.size() == 1 ? " entry" : " entries"), count_text(declaration)});
    good = false;
  }
  return good ? std::optional(std::move(values)) : std::nullopt;
}

double Section::number(const Number& declared) {
  const Number key = completed(declared, coefficients());
  Declaration declaration = numeric(Kind::number, key);
  declaration.coefficient = key.coefficient;
  set_default(declaration, key.default_value, number_text);
  const Declaration& declared_key = declare(std::move(declaration));
  const auto given_value =
      parsed(declared_key, [&](const Node& node) { return parse_number(node, key.unit, key.low, key.high); });
  const double value = given_value.value_or(key.default_value.value_or(nearest_to_zero(key.low, key.high)));
  note(declared_key, with_unit(value, key.unit));
  return value;
}

Duration Section::duration(const Number& key) {
  const std::optional<double> seconds = convert(number(key), key.unit, "s");
  if (!seconds) throw InternalError("The key '" + key.name + "' is a duration, but its unit is '" + key.unit + "'.");
  return Duration::from_seconds(*seconds);
}

int Section::integer(const Integer& declared) {
  const Integer key = completed(declared, coefficients());
  Declaration declaration = numeric(Kind::integer, key);
  declaration.coefficient = key.coefficient;
  set_default(declaration, key.default_value, [](int value) { return std::to_string(value); });
  const Declaration& declared_key = declare(std::move(declaration));
  const auto given_value =
      parsed(declared_key, [&](const Node& node) { return parse_integer(node, key.low, key.high); });
  const int value =
      given_value.value_or(key.default_value.value_or(static_cast<int>(nearest_to_zero(key.low, key.high))));
  note(declared_key, std::to_string(value));
  return value;
}

std::uint64_t Section::seed(const Seed& key) {
  Declaration declaration = base(Kind::integer, key);
  declaration.low = 0;
  set_default(declaration, key.default_value, [](std::uint64_t value) { return std::to_string(value); });
  const Declaration& declared_key = declare(std::move(declaration));
  const std::uint64_t value = parsed(declared_key, parse_seed).value_or(key.default_value.value_or(0));
  note(declared_key, std::to_string(value));
  return value;
}

bool Section::boolean(const Bool& key) {
  Declaration declaration = base(Kind::boolean, key);
  set_default(declaration, key.default_value, truth_text);
  const Declaration& declared_key = declare(std::move(declaration));
  const bool value = parsed(declared_key, parse_boolean).value_or(key.default_value.value_or(false));
  note(declared_key, truth_text(value));
  return value;
}

std::string Section::string(const String& key) {
  Declaration declaration = base(Kind::string, key);
  set_default(declaration, key.default_value, clock_text);
  return parsed(declare(std::move(declaration)), parse_string).value_or(key.default_value.value_or(""));
}

std::string Section::choice(const Choice& key) {
  return choose(key).value_or(key.default_value.value_or(key.options.front()));
}

std::optional<std::string> Section::choose(const Choice& key) {
  if (key.options.empty()) throw InternalError("The key '" + path(key.name) + "' has no options.");
  Declaration declaration = base(Kind::choice, key);
  declaration.options = key.options;
  declaration.source = key.source;
  declaration.grade = key.grade;
  set_default(declaration, key.default_value, same);
  const Declaration& declared_key = declare(std::move(declaration));
  const auto value = parsed(declared_key, [&](const Node& node) { return parse_choice(node, key.options); });
  auto chosen = !value && !has(key.name) ? key.default_value : value;
  if (chosen) note(declared_key, *chosen);
  return chosen;
}

Duration Section::time_of_day(const TimeOfDay& key) {
  Declaration declaration = base(Kind::time_of_day, key);
  set_default(declaration, key.default_value, clock_text);
  const Declaration& declared_key = declare(std::move(declaration));
  const auto given_value = parsed(declared_key, parse_time_of_day);
  const Duration value = given_value ? *given_value : default_time(key.default_value.value_or("00:00"));
  note(declared_key, time_text(value));
  return value;
}

std::chrono::year_month_day Section::date(const Date& key) {
  Declaration declaration = base(Kind::date, key);
  set_default(declaration, key.default_value, same);
  const Declaration& declared_key = declare(std::move(declaration));
  const auto given_date = parsed(declared_key, parse_date);
  const auto value = given_date ? *given_date : default_date(key.default_value.value_or("2000-01-01"));
  note(declared_key, date_text(value));
  return value;
}

std::vector<Duration> Section::times_of_day(const TimesOfDay& key) {
  Declaration declaration = base(Kind::times_of_day, key);
  declaration.min_items = key.min_items;
  declaration.max_items = key.max_items;
  set_default(declaration, key.default_value, [](const auto& texts) { return list_text(texts, clock_text); });
  const Declaration& declared_key = declare(std::move(declaration));
  const auto given_values = parsed_list(declared_key, parse_time_of_day);
  const bool increasing = !given_values || std::adjacent_find(given_values->begin(), given_values->end(),
                                                              std::greater_equal<>()) == given_values->end();
  if (!increasing) refuse(key.name, "is not in order", "each time later than the one before");
  std::vector<Duration> times;
  if (given_values && increasing) {
    times = *given_values;
  } else {
    for (const std::string& text : key.default_value.value_or(std::vector<std::string>{}))
      times.push_back(default_time(text));
  }
  note(declared_key, list_text(times, time_text));
  return times;
}

std::vector<double> Section::numbers(const Numbers& declared) {
  const Numbers key = completed(declared, coefficients());
  Declaration declaration = numeric(Kind::numbers, key);
  declaration.coefficient = key.coefficient;
  set_default(declaration, key.default_value, [](const auto& values) { return list_text(values, number_text); });
  const Declaration& declared_key = declare(std::move(declaration));
  const auto given_values =
      parsed_list(declared_key, [&](const Node& node) { return parse_number(node, key.unit, key.low, key.high); });
  auto values = given_values.value_or(
      key.default_value.value_or(std::vector<double>(key.min_items, nearest_to_zero(key.low, key.high))));
  note(declared_key, list_text(values, number_text));
  return values;
}

std::vector<int> Section::integers(const Integers& key) {
  Declaration declaration = numeric(Kind::integers, key);
  set_default(declaration, key.default_value,
              [](const auto& values) { return list_text(values, [](int value) { return std::to_string(value); }); });
  const Declaration& declared_key = declare(std::move(declaration));
  const auto given_values =
      parsed_list(declared_key, [&](const Node& node) { return parse_integer(node, key.low, key.high); });
  const auto lowest = static_cast<int>(nearest_to_zero(key.low, key.high));
  auto values = given_values.value_or(key.default_value.value_or(std::vector<int>(key.min_items, lowest)));
  note(declared_key, list_text(values, [](int value) { return std::to_string(value); }));
  return values;
}

std::vector<std::string> Section::strings(const Strings& key) {
  Declaration declaration = base(Kind::strings, key);
  declaration.options = key.options;
  declaration.min_items = key.min_items;
  declaration.max_items = key.max_items;
  set_default(declaration, key.default_value, [](const auto& values) { return list_text(values, same); });
  const Declaration& declared_key = declare(std::move(declaration));
  auto values = parsed_list(declared_key, [&](const Node& node) {
    return key.options.empty() ? parse_string(node) : parse_choice(node, key.options);
  });
  if (values && !key.options.empty()) {
    std::vector<std::string> sorted = *values;
    std::sort(sorted.begin(), sorted.end());
    const auto twice = std::adjacent_find(sorted.begin(), sorted.end());
    if (twice != sorted.end()) refuse(key.name, "lists '" + *twice + "' twice", "each only once"), values.reset();
  }
  auto texts = values.value_or(key.default_value.value_or(std::vector<std::string>{}));
  note(declared_key, list_text(texts, same));
  return texts;
}

template <class Key, class Result>
std::optional<Result> Section::if_given(const Key& key, Result (Section::*reader)(const Key&)) {
  Section lenient = *this;
  lenient.optional_ = true;
  Result result = (lenient.*reader)(key);
  return has(key.name) ? std::optional<Result>(std::move(result)) : std::nullopt;
}

std::optional<double> Section::optional_number(const Number& key) { return if_given(key, &Section::number); }
std::optional<int> Section::optional_integer(const Integer& key) { return if_given(key, &Section::integer); }
std::optional<Duration> Section::optional_time_of_day(const TimeOfDay& key) {
  return if_given(key, &Section::time_of_day);
}
std::optional<std::vector<double>> Section::optional_numbers(const Numbers& key) {
  return if_given(key, &Section::numbers);
}

}  // namespace farrowtide
