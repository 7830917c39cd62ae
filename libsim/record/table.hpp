// Columnar tables: rows of one kind go in, one contiguous column per field comes out.
#pragma once

#include <cstdint>
#include <limits>
#include <span>
#include <string_view>
#include <type_traits>
#include <utility>
#include <variant>
#include <vector>

namespace farrowtide {

// The description of a column, used by Python, the documentation and the JSON output.
struct ColumnInfo {
  std::string_view name;  // with its unit, e.g. "eaten_kg"
  std::string_view unit;  // "kg"; "-" for a pure number; "yes/no" for 1 and 0
  std::string_view help;
  std::span<const std::string_view> labels{};  // for a category: code -> label; empty otherwise
};

// A missing real number is NaN; a missing whole number or category is -1.
constexpr double missing = std::numeric_limits<double>::quiet_NaN();

using Column = std::variant<std::vector<double>, std::vector<std::int32_t>>;

// One field of a row type: how it is described and where it is.
template <class Row>
struct Field {
  ColumnInfo info;
  std::variant<double Row::*, std::int32_t Row::*> member;
};

// The columns of one kind of row, without knowing the row type: what readers see.
class Table {
 public:
  Table(std::string_view name, std::vector<ColumnInfo> infos, std::vector<Column> columns);

  std::string_view name() const { return name_; }
  std::size_t rows() const { return rows_; }
  std::span<const ColumnInfo> infos() const { return infos_; }
  const Column& column(std::size_t index) const { return columns_[index]; }

  // Appends the rows of another table of the same kind.
  void append(const Table& other);
  void reserve(std::size_t rows);

 protected:
  std::string_view name_;
  std::vector<ColumnInfo> infos_;
  std::vector<Column> columns_;
  std::size_t rows_ = 0;
};

// A table that takes rows of one type. `Row::fields()` lists its fields, `Row::table_name` its name.
template <class Row>
class TableOf : public Table {
 public:
  TableOf() : Table(Row::table_name, describe(), empty_columns()) {}

  void add(const Row& row) {
    std::size_t index = 0;
    for (const Field<Row>& field : Row::fields()) {
      Column& column = columns_[index++];
      if (const auto* real = std::get_if<double Row::*>(&field.member)) {
        std::get_if<std::vector<double>>(&column)->push_back(row.*(*real));
      } else {
        std::get_if<std::vector<std::int32_t>>(&column)->push_back(row.*
                                                                   (*std::get_if<std::int32_t Row::*>(&field.member)));
      }
    }
    ++rows_;
  }

 private:
  static std::vector<ColumnInfo> describe() {
    std::vector<ColumnInfo> infos;
    for (const Field<Row>& field : Row::fields()) infos.push_back(field.info);
    return infos;
  }

  static std::vector<Column> empty_columns() {
    std::vector<Column> columns;
    for (const Field<Row>& field : Row::fields()) {
      if (std::holds_alternative<double Row::*>(field.member)) {
        columns.emplace_back(std::vector<double>{});
      } else {
        columns.emplace_back(std::vector<std::int32_t>{});
      }
    }
    return columns;
  }
};

}  // namespace farrowtide
