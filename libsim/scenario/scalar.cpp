#include "libsim/scenario/scalar.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <limits>

#include "libsim/scenario/declaration.hpp"
#include "libsim/scenario/units.hpp"

namespace farrowtide {
namespace {

bool is_digit(char c) { return c >= '0' && c <= '9'; }

std::string lower(std::string_view text) {
  std::string result(text);
  std::transform(result.begin(), result.end(), result.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return result;
}

std::size_t digits_at(std::string_view text, std::size_t start) {
  std::size_t end = start;
  while (end < text.size() && is_digit(text[end])) ++end;
  return end - start;
}

// Length of the decimal number at the start of a text; 0 if there is none.
std::size_t number_length(std::string_view text) {
  std::size_t end = !text.empty() && (text[0] == '-' || text[0] == '+') ? 1 : 0;
  const std::size_t whole = digits_at(text, end);
  end += whole;
  std::size_t fraction = 0;
  if (end < text.size() && text[end] == '.') {
    fraction = digits_at(text, end + 1);
    end += 1 + fraction;
  }
  if (whole + fraction == 0) return 0;
  if (end < text.size() && (text[end] == 'e' || text[end] == 'E')) {
    const std::size_t sign = end + 1 < text.size() && (text[end + 1] == '-' || text[end + 1] == '+') ? 1 : 0;
    if (const std::size_t exponent = digits_at(text, end + 1 + sign)) end += 1 + sign + exponent;
  }
  return end;
}

// Ways to write a number that parsers read differently.
std::optional<Complaint> surprising_number(std::string_view text) {
  const std::string word = lower(text);
  const std::string_view bare = text.substr(text.starts_with('-') || text.starts_with('+') ? 1 : 0);
  const std::string_view letters = std::string_view(word).substr(std::min(word.find_first_not_of("+-."), word.size()));
  if (letters.starts_with("nan") || letters.starts_with("inf")) {
    return Complaint{"is not a finite number"};
  }
  if (bare.size() > 1 && bare[0] == '0' && is_digit(bare[1])) {
    const std::size_t zeros = std::min(bare.find_first_not_of('0'), bare.size() - 1);
    return Complaint{"begins with 0 and could be read as octal", "", std::string(bare.substr(zeros))};
  }
  if (word.starts_with("0x") || word.starts_with("0o") || word.starts_with("0b")) {
    return Complaint{"is not written in decimal"};
  }
  const std::size_t length = number_length(text);
  if (length > 0 && length + 1 < text.size() && (text[length] == ',' || text[length] == '_') &&
      is_digit(text[length + 1])) {
    return Complaint{"has a '" + std::string(1, text[length]) + "' inside",
                     "a decimal point, no separators between thousands"};
  }
  return {};
}

struct Quantity {
  double value;
  std::string unit;  // "" if none is written
};

Parsed<Quantity> parse_quantity(std::string_view text) {
  if (auto complaint = surprising_number(text)) return *complaint;
  const std::size_t length = number_length(text);
  if (length == 0) return Complaint{text.empty() ? "has no value" : "is not a number"};
  const std::string_view digits = text.substr(text[0] == '+' ? 1 : 0, length - (text[0] == '+' ? 1 : 0));
  double value = 0;
  const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), value);
  if (error != std::errc{} || end != digits.data() + digits.size() || !std::isfinite(value)) {
    return Complaint{"is too large or too small to represent"};
  }
  std::string_view rest = text.substr(length);
  rest.remove_prefix(std::min(rest.find_first_not_of(' '), rest.size()));
  return Quantity{value, std::string(rest)};
}

std::string unit_words(std::string_view unit) {
  return unit == "-" ? "a plain number or %" : joined(units_like(unit), ", ");
}

// "F" and "deg F" mean degF where that is a unit of the key.
std::string meant_unit(std::string_view written, const std::vector<std::string>& units) {
  const char scale =
      static_cast<char>(std::toupper(static_cast<unsigned char>(written.empty() ? ' ' : written.back())));
  const std::string_view rest = written.substr(0, written.size() - 1);
  const bool degrees = rest.empty() || rest == "deg" || rest == "deg " || rest == "°" || rest == "degrees ";
  std::string meant = std::string("deg") + scale;
  if (degrees && std::find(units.begin(), units.end(), meant) != units.end()) return meant;
  return closest(written, units);
}

std::string with_unit(double value, std::string_view unit) {
  return number_text(value).append(unit == "-" ? "" : " ").append(unit == "-" ? "" : unit);
}

// An end of a range in another unit, inside the range and with one decimal: 10 degC is 50 degF.
double end_in(double end, std::string_view unit, std::string_view other, bool lower) {
  const double tenths = convert(end, unit, other).value_or(end) * 10;
  return (lower ? std::ceil(tenths - 1e-6) : std::floor(tenths + 1e-6)) / 10;
}

// The range in its own unit and in the one that the value was written in, where that is another scale of temperature.
std::string range_in_words(double low, double high, std::string_view unit, std::string_view written_in) {
  std::string own = range_text(low, high, unit);
  if (unit != "degC" || written_in.empty() || convert(0, written_in, unit) == 0 || own.empty()) return own;
  return own + ", which is " +
         range_text(end_in(low, unit, written_in, true), end_in(high, unit, written_in, false), written_in);
}

// A bare 30 for a share probably means 30 %, a bare 72 for a room 72 degF.
Complaint out_of_range(double value, std::string_view unit, double low, double high, std::string_view written_in) {
  const bool bare = written_in.empty();
  Complaint complaint{"is outside the range", range_in_words(low, high, unit, written_in)};
  const std::string likely = unit == "-" && high <= 1 ? "%" : unit == "degC" ? "degF" : "";
  const std::optional<double> meant = bare && !likely.empty() ? convert(value, likely, unit) : std::nullopt;
  if (meant && *meant >= low && *meant <= high) complaint.suggestion = number_text(value) + " " + likely;
  return complaint;
}

bool is_yes_no_word(std::string_view text) {
  const std::string word = lower(text);
  constexpr std::array words{"yes", "no", "on", "off", "y", "n", "true", "false"};
  return std::find(words.begin(), words.end(), word) != words.end();
}

std::optional<int> digits_value(std::string_view text) {
  if (text.empty() || digits_at(text, 0) != text.size()) return {};
  int value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  return error == std::errc{} ? std::optional(value) : std::nullopt;
}

std::string two_digits(int value) { return std::string(value < 10 ? "0" : "").append(std::to_string(value)); }

}  // namespace

Parsed<double> parse_number(const Node& node, std::string_view unit, double low, double high) {
  const Parsed<Quantity> written = parse_quantity(node.text);
  const std::string allowed = unit == "-" ? "a number" : "a number in " + unit_words(unit);
  if (!written.value) {
    Complaint complaint = written.complaint;
    if (complaint.allowed.empty()) complaint.allowed = allowed;
    return complaint;
  }
  const auto& [value, own_unit] = *written.value;
  const std::optional<double> converted = own_unit.empty() ? value : convert(value, own_unit, unit);
  if (!converted)
    return Complaint{"has the unit '" + own_unit + "'", unit_words(unit), meant_unit(own_unit, units_like(unit))};
  if (!(*converted >= low && *converted <= high)) return out_of_range(*converted, unit, low, high, own_unit);
  return *converted;
}

Parsed<int> parse_integer(const Node& node, int low, int high) {
  const std::string allowed =
      "a whole number" + (range_text(low, high, "-").empty() ? "" : ", " + range_text(low, high, "-"));
  const Parsed<Quantity> written = parse_quantity(node.text);
  if (!written.value) return Complaint{written.complaint.problem, allowed, written.complaint.suggestion};
  const auto& [value, unit] = *written.value;
  if (!unit.empty()) return Complaint{"has a unit or text after the number", allowed};
  if (value != std::floor(value)) return Complaint{"is not a whole number", allowed};
  if (value < low || value > high) return Complaint{"is outside the range", range_text(low, high, "-")};
  return static_cast<int>(value);
}

Parsed<std::uint64_t> parse_seed(const Node& node) {
  const std::string_view text = node.text;
  std::uint64_t digits = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), digits);
  const bool whole = end == text.data() + text.size();
  if (whole && error == std::errc::result_out_of_range) {
    return Complaint{"is outside the range", "0 to " + std::to_string(std::numeric_limits<std::uint64_t>::max())};
  }
  if (whole && error == std::errc{} && !surprising_number(text)) return digits;
  const Parsed<int> small = parse_integer(node, 0, std::numeric_limits<int>::max());  // "1e3" is a whole number, too
  return small.value ? Parsed<std::uint64_t>(static_cast<std::uint64_t>(*small.value)) : small.complaint;
}

Parsed<bool> parse_boolean(const Node& node) {
  if (!node.quoted && (node.text == "true" || node.text == "false")) return node.text == "true";
  if (node.quoted) return Complaint{"is quoted text", "true or false, without quotes"};
  if (!is_yes_no_word(node.text)) return Complaint{"is neither true nor false", "true or false"};
  const char first = lower(node.text)[0];
  const bool yes = first == 'y' || first == 't' || lower(node.text) == "on";
  return Complaint{"is read as a boolean by some YAML parsers and as text by others", "true or false",
                   yes ? "true" : "false"};
}

Parsed<std::string> parse_string(const Node& node) {
  if (!node.quoted && is_yes_no_word(node.text)) {
    return Complaint{"some YAML parsers read this as a boolean", "text; put this word in quotes",
                     '"' + node.text + '"'};
  }
  return node.text;
}

Parsed<std::string> parse_choice(const Node& node, const std::vector<std::string>& options) {
  if (std::find(options.begin(), options.end(), node.text) != options.end()) return node.text;
  std::string other = node.text;
  std::replace(other.begin(), other.end(), ' ', '_');
  std::replace(other.begin(), other.end(), '-', '_');
  const std::string problem =
      !node.quoted && is_yes_no_word(node.text) ? "is a boolean, not one of the choices" : "is not one of the choices";
  return Complaint{problem, joined(options, ", "), closest(lower(other), options)};
}

Parsed<Duration> parse_time_of_day(const Node& node) {
  const std::string_view text = node.text;
  const std::size_t colon = text.find(':');
  const auto hour = digits_value(text.substr(0, colon));
  const auto minute = colon == text.npos ? std::optional(0) : digits_value(text.substr(colon + 1));
  const bool possible = hour && minute && *hour < 24 && *minute < 60;
  if (possible && colon == 2 && text.size() == 5) return Duration(*hour * 3600 + *minute * 60);
  return Complaint{"is not a time of day", "00:00 to 23:59",
                   possible ? two_digits(*hour) + ":" + two_digits(*minute) : ""};
}

Parsed<std::chrono::year_month_day> parse_date(const Node& node) {
  const std::string_view text = node.text;
  const Complaint complaint{"is not a date", "year-month-day, as in 2024-07-01"};
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return complaint;
  const auto year = digits_value(text.substr(0, 4)), month = digits_value(text.substr(5, 2)),
             day = digits_value(text.substr(8, 2));
  if (!year || !month || !day) return complaint;
  const std::chrono::year_month_day date{std::chrono::year(*year), std::chrono::month(static_cast<unsigned>(*month)),
                                         std::chrono::day(static_cast<unsigned>(*day))};
  if (!date.ok()) return Complaint{"does not exist in the calendar", "year-month-day, as in 2024-07-01"};
  return date;
}

std::string joined(const std::vector<std::string>& words, std::string_view between) {
  std::string text;
  for (const std::string& word : words) text.append(text.empty() ? "" : between).append(word);
  return text;
}

std::string number_text(double value) {
  std::array<char, 32> text{};
  const auto [end, error] = std::to_chars(text.data(), text.data() + text.size(), value);
  return {text.data(), end};
}

std::string range_text(double low, double high, std::string_view unit) {
  const bool from = std::isfinite(low) && low > std::numeric_limits<int>::min();
  const bool until = std::isfinite(high) && high < std::numeric_limits<int>::max();
  if (from && until) return number_text(low) + " to " + with_unit(high, unit);
  if (from) return "at least " + with_unit(low, unit);
  return until ? "at most " + with_unit(high, unit) : "";
}

}  // namespace farrowtide
