// Tables as NumPy: each column is a read-only view of the engine's buffer, kept alive by a capsule.
#include <pybind11/numpy.h>

#include "bindings/bind.hpp"
#include "libsim/kernel/errors.hpp"
#include "libsim/record/words.hpp"
#include "libsim/run/replications.hpp"

namespace farrowtide {
namespace py = pybind11;
namespace {

using SharedResult = std::shared_ptr<const RunResult>;

py::capsule keep_alive(const SharedResult& result) {
  return {new SharedResult(result), [](void* owned) { delete static_cast<SharedResult*>(owned); }};
}

py::array view(const Column& column, const py::capsule& owner) {
  py::array array = std::visit(
      [&](const auto& values) -> py::array {
        return py::array(static_cast<py::ssize_t>(values.size()), values.data(), owner);
      },
      column);
  array.attr("setflags")(py::arg("write") = false);
  return array;
}

const Table& find_table(const RunResult& result, const std::string& name) {
  for (const Table* table : result.tables.all()) {
    if (table->name() == name) return *table;
  }
  throw UserError("no table is called '" + name + "'");
}

py::dict columns_of(const std::shared_ptr<RunResult>& result, const std::string& name) {
  const Table& table = find_table(*result, name);
  const py::capsule owner = keep_alive(result);
  py::dict columns;
  for (std::size_t i = 0; i < table.infos().size(); ++i) {
    columns[py::str(std::string(table.infos()[i].name))] = view(table.column(i), owner);
  }
  return columns;
}

py::dict described_tables() {
  const RoomTables tables;
  py::dict all;
  for (const Table* table : tables.all()) {
    py::list infos;
    for (const ColumnInfo& info : table->infos()) infos.append(info);
    all[py::str(std::string(table->name()))] = infos;
  }
  return all;
}

// Rebuilds a row from the columns, to print events as sentences.
EventRow event_at(const Table& table, std::size_t index) {
  EventRow row;
  std::size_t column = 0;
  for (const Field<EventRow>& field : EventRow::fields()) {
    std::visit(
        [&](const auto member) {
          row.*member = std::get<std::vector<std::decay_t<decltype(row.*member)>>>(table.column(column))[index];
        },
        field.member);
    ++column;
  }
  return row;
}

std::vector<std::string> trace(const RunResult& result, int replicate) {
  std::vector<std::string> lines;
  for (std::size_t i = 0; i < result.tables.events.rows(); ++i) {
    const EventRow event = event_at(result.tables.events, i);
    if (event.replicate == replicate) lines.push_back(in_words(event));
  }
  return lines;
}

}  // namespace

void bind_records(py::module_& module) {
  py::class_<ColumnInfo>(
      module, "ColumnInfo",
      "The description of a column of a table. `labels` are the words for the codes of a category; empty for numbers.")
      .def_property_readonly("name", [](const ColumnInfo& info) { return std::string(info.name); })
      .def_property_readonly("unit", [](const ColumnInfo& info) { return std::string(info.unit); })
      .def_property_readonly("help", [](const ColumnInfo& info) { return std::string(info.help); })
      .def_property_readonly("labels", [](const ColumnInfo& info) {
        return std::vector<std::string>(info.labels.begin(), info.labels.end());
      });

  py::class_<RunResult, std::shared_ptr<RunResult>>(module, "RunResult", "The recorded tables of a run.")
      .def_readonly("replications", &RunResult::replications)
      .def_readonly("events", &RunResult::events)
      .def_readonly("checks", &RunResult::checks)
      .def_property_readonly("set_aside",
                             [](const RunResult& result) {
                               std::vector<std::pair<int, std::string>> rooms;
                               for (const auto& [replicate, fault] : result.set_aside)
                                 rooms.emplace_back(replicate, fault);
                               return rooms;
                             })
      .def("columns", &columns_of, py::arg("table"),
           "The columns of a table by name: read-only arrays of equal length that are views of the engine's memory.")
      .def("trace", &trace, py::arg("replicate"),
           "The recorded events of one replicate in plain language, in order of time.");

  module.def("tables", &described_tables, "The description of the columns of each table, by name of the table.");
}

}  // namespace farrowtide
