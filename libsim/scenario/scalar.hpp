// Strict parsing of one value: the value, or what is wrong with it.
#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "libsim/kernel/time.hpp"
#include "libsim/scenario/node.hpp"

namespace farrowtide {

struct Complaint {
  std::string problem;
  std::string allowed = {};
  std::string suggestion = {};
};

template <class Value>
struct Parsed {
  std::optional<Value> value;
  Complaint complaint = {};

  Parsed(Value good) : value(std::move(good)) {}
  Parsed(Complaint bad) : complaint(std::move(bad)) {}
};

// A decimal number with or without a unit, converted to `unit`; low and high are inclusive.
Parsed<double> parse_number(const Node& node, std::string_view unit, double low, double high);
Parsed<int> parse_integer(const Node& node, int low, int high);
Parsed<std::uint64_t> parse_seed(const Node& node);  // 0 to 2^64 - 1
Parsed<bool> parse_boolean(const Node& node);
Parsed<std::string> parse_string(const Node& node);
Parsed<std::string> parse_choice(const Node& node, const std::vector<std::string>& options);
Parsed<Duration> parse_time_of_day(const Node& node);              // "06:30", since midnight
Parsed<std::chrono::year_month_day> parse_date(const Node& node);  // "2024-07-01"

std::string joined(const std::vector<std::string>& words, std::string_view between);
// The shortest text that reads back as the same number.
std::string number_text(double value);
// "0.1 to 10 L/min", "at least 0", "".
std::string range_text(double low, double high, std::string_view unit);

}  // namespace farrowtide
