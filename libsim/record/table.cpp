#include "libsim/record/table.hpp"

#include "libsim/kernel/errors.hpp"

namespace farrowtide {

Table::Table(std::string_view name, std::vector<ColumnInfo> infos, std::vector<Column> columns)
    : name_(name), infos_(std::move(infos)), columns_(std::move(columns)) {}

void Table::append(const Table& other) {
  if (other.name_ != name_ || other.columns_.size() != columns_.size()) {
    throw InternalError("rows of one table cannot be added to another kind of table");
  }
  for (std::size_t i = 0; i < columns_.size(); ++i) {
    std::visit(
        [&](auto& mine) {
          const auto& theirs = std::get<std::decay_t<decltype(mine)>>(other.columns_[i]);
          mine.insert(mine.end(), theirs.begin(), theirs.end());
        },
        columns_[i]);
  }
  rows_ += other.rows_;
}

void Table::reserve(std::size_t rows) {
  for (Column& column : columns_) {
    std::visit([&](auto& values) { values.reserve(rows); }, column);
  }
}

}  // namespace farrowtide
