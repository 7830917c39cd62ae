// The coefficient library: every biological number with its unit, range, grade and source.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <utility>
#include <vector>

#include "libsim/scenario/document.hpp"

namespace farrowtide {

struct Axis {
  std::string name;
  std::string unit;
  std::vector<std::string> labels;  // as written
  std::vector<double> at;           // empty where the labels are words
};

struct Coefficient {
  std::string path;  // "sow.appetite.curve.half_time"
  std::string unit;
  std::vector<double> value;  // one number, or one for each point of the axis
  std::vector<double> low;    // the range for uncertainty studies; equal to high if not varied
  std::vector<double> high;
  std::string grade;  // "A" published, "B" derived or fitted, "C" trade practice or assumption
  std::string source;
  std::string note;
  std::optional<Axis> axis;
  bool overlaid = false;

  bool is_table() const { return axis.has_value(); }
};

class CoefficientGroup;

// Immutable and cheap to copy. Reading an unknown path, another unit or a table as a number is a bug and throws
// InternalError; a mistake in an overlay is the user's and throws ScenarioError.
class Coefficients {
 public:
  Coefficients();                  // empty
  static Coefficients built_in();  // the files the library was built with

  // An overlay names coefficients as the files do, or by dotted path, and gives a value (a table: all its entries) or
  // {value, low, high, grade, source, note, outside_range: true}.
  Coefficients with_overlay(std::string text, std::string source_name) const;
  Coefficients with_value(std::string_view path, double value) const;
  Coefficients with_table(std::string_view path, std::vector<double> values) const;
  Coefficients with_values(const std::vector<std::pair<std::string, double>>& values) const;

  double number(std::string_view path, std::string_view unit) const;
  const std::vector<double>& table(std::string_view path, std::string_view unit) const;
  const std::vector<double>& axis(std::string_view path) const;
  const std::vector<std::string>& axis_labels(std::string_view path) const;

  // The coefficients whose paths begin with `prefix` and a dot: for equations that read three or more of them.
  CoefficientGroup group(std::string_view prefix) const&;
  CoefficientGroup group(std::string_view prefix) const&& = delete;  // the view would outlive what it views

  // For paths given by a user: throws UserError with a suggestion.
  const Coefficient& find(std::string_view path) const;
  bool has(std::string_view path) const;

  std::size_t size() const { return entries_.size(); }
  const Coefficient& operator[](std::size_t index) const { return *entries_[index]; }  // in the order of the files
  std::vector<std::string> paths() const;
  std::vector<std::string> overlaid_paths() const;
  std::string hash() const;  // 64-bit FNV-1a over paths, units, values, ranges and axes, 16 hex digits

  // Reads one file's text; its path begins with `file` ("sow"). Used by built_in() and by tests.
  Coefficients with_file(std::string text, const std::string& file) const;

 private:
  using Index = std::unordered_map<std::string, std::size_t>;

  std::size_t index_of(std::string_view path) const;
  const Coefficient& with_unit(std::string_view path, std::string_view unit) const;
  const Axis& axis_of(std::string_view path) const;

  std::vector<std::shared_ptr<const Coefficient>> entries_;
  std::shared_ptr<const Index> index_;
};

// A view of the coefficients below one prefix; a name is the rest of the path. It must not outlive its coefficients.
class CoefficientGroup {
 public:
  CoefficientGroup(const Coefficients& coefficients, std::string_view prefix)
      : coefficients_(coefficients), prefix_(std::string(prefix) + ".") {}

  double number(std::string_view name, std::string_view unit) const { return coefficients_.number(path(name), unit); }
  const std::vector<double>& table(std::string_view name, std::string_view unit) const {
    return coefficients_.table(path(name), unit);
  }
  const std::vector<std::string>& axis_labels(std::string_view name) const {
    return coefficients_.axis_labels(path(name));
  }

 private:
  std::string path(std::string_view name) const { return prefix_ + std::string(name); }

  const Coefficients& coefficients_;
  std::string prefix_;
};

inline CoefficientGroup Coefficients::group(std::string_view prefix) const& { return {*this, prefix}; }

}  // namespace farrowtide
