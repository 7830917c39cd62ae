#include "libsim/scenario/coefficients.hpp"

#include <algorithm>
#include <array>

#include "libsim/scenario/declaration.hpp"
#include "libsim/scenario/embedded_files.hpp"
#include "libsim/scenario/scalar.hpp"

namespace farrowtide {
namespace {

using Entries = std::vector<std::shared_ptr<const Coefficient>>;

// Reads the fields of coefficients and collects all mistakes.
class Reader {
 public:
  std::vector<Mistake> mistakes;

  void complain(const Node& node, const std::string& path, std::string problem, std::string allowed = {},
                std::string suggestion = {}) {
    mistakes.push_back(
        mistake_at(node.place, path, shown(node), std::move(problem), std::move(allowed), std::move(suggestion)));
  }

  void check_fields(const Node& node, const std::string& path, const std::vector<std::string>& known) {
    for (const Node::Entry& entry : node.entries) {
      if (std::find(known.begin(), known.end(), entry.key) != known.end()) continue;
      mistakes.push_back(mistake_at(entry.place, path + "." + entry.key, shown(*entry.value),
                                    "is not a field of a coefficient", "", closest(entry.key, known)));
    }
  }

  std::string text(const Node& node, const std::string& path) {
    if (node.kind == Node::Kind::scalar && !node.text.empty()) return node.text;
    complain(node, path, "is not text", "text");
    return "";
  }

  // A number, or a list of them.
  std::vector<double> values(const Node& node, const std::string& path, const std::string& unit) {
    std::vector<double> numbers;
    if (node.kind == Node::Kind::list) {
      for (const NodeRef& item : node.items) numbers.push_back(value(*item, path, unit));
    } else {
      numbers.push_back(value(node, path, unit));
    }
    return numbers;
  }

 private:
  double value(const Node& node, const std::string& path, const std::string& unit) {
    if (node.kind != Node::Kind::scalar) {
      complain(node, path, "is not a number", "a number in " + unit);
      return 0;
    }
    const Parsed<double> number = parse_number(node, unit, -unbounded, unbounded);
    if (!number.value)
      complain(node, path, number.complaint.problem, number.complaint.allowed, number.complaint.suggestion);
    return number.value.value_or(0);
  }
};

Axis read_axis(Reader& reader, const Node& node, const std::string& path) {
  Axis axis;
  reader.check_fields(node, path, {"name", "unit", "at"});
  if (const auto* name = node.find("name")) axis.name = reader.text(*name->value, path + ".name");
  if (const auto* unit = node.find("unit")) axis.unit = reader.text(*unit->value, path + ".unit");
  const auto* at = node.find("at");
  if (axis.name.empty() || axis.unit.empty() || !at || at->value->kind != Node::Kind::list) {
    reader.complain(node, path, "is not an axis", "name, unit and a list 'at'");
    return axis;
  }
  for (const NodeRef& item : at->value->items) axis.labels.push_back(reader.text(*item, path + ".at"));
  const auto is_word = [](const NodeRef& item) {
    return item->quoted || !parse_number(*item, "-", -unbounded, unbounded).value;
  };
  if (std::none_of(at->value->items.begin(), at->value->items.end(), is_word)) {
    axis.at = reader.values(*at->value, path + ".at", axis.unit);
  }
  return axis;
}

bool ordered(const std::vector<double>& low, const std::vector<double>& high) {
  return std::equal(low.begin(), low.end(), high.begin(), high.end(), std::less_equal<>());
}

void check_grade(Reader& reader, const Node& node, const std::string& path) {
  constexpr std::array grades{"A", "B", "C"};
  const bool known = std::find(grades.begin(), grades.end(), node.text) != grades.end();
  if (!known) reader.complain(node, path + ".grade", "is not a grade", "A, B or C");
}

void check_range(Reader& reader, const Node& node, const Coefficient& coefficient) {
  if (coefficient.is_table() && coefficient.axis->labels.size() != coefficient.value.size()) {
    reader.complain(node, coefficient.path, "has " + std::to_string(coefficient.value.size()) + " values",
                    std::to_string(coefficient.axis->labels.size()) + ", one for each point of the axis");
  } else if (!ordered(coefficient.low, coefficient.value) || !ordered(coefficient.value, coefficient.high)) {
    reader.complain(node, coefficient.path, "does not satisfy low <= value <= high for every entry");
  }
}

const Node& field(Reader& reader, const Node& node, const std::string& path, std::string_view name) {
  if (const Node::Entry* entry = node.find(name)) return *entry->value;
  reader.complain(node, path, "has no field '" + std::string(name) + "'");
  return node;
}

std::shared_ptr<const Coefficient> read_coefficient(Reader& reader, const Node& node, const std::string& path) {
  const std::size_t mistakes_before = reader.mistakes.size();
  static constexpr std::array needed{"value", "unit", "low", "high", "grade", "source"};
  reader.check_fields(node, path, {"value", "unit", "low", "high", "grade", "source", "note", "axis"});
  for (const char* name : needed) {
    if (&field(reader, node, path, name) == &node) return nullptr;
  }
  auto coefficient = std::make_shared<Coefficient>();
  coefficient->path = path;
  const auto at = [&](std::string_view name) -> const Node& { return *node.find(name)->value; };
  coefficient->unit = reader.text(at("unit"), path + ".unit");
  coefficient->value = reader.values(at("value"), path + ".value", coefficient->unit);
  coefficient->low = reader.values(at("low"), path + ".low", coefficient->unit);
  coefficient->high = reader.values(at("high"), path + ".high", coefficient->unit);
  coefficient->grade = reader.text(at("grade"), path + ".grade");
  coefficient->source = reader.text(at("source"), path + ".source");
  if (const auto* note = node.find("note")) coefficient->note = reader.text(*note->value, path + ".note");
  if (const auto* axis = node.find("axis")) coefficient->axis = read_axis(reader, *axis->value, path + ".axis");
  if ((at("value").kind == Node::Kind::list) != coefficient->is_table())
    reader.complain(node, path, "has a table without an axis, or an axis without a table");
  check_grade(reader, at("grade"), path);
  if (reader.mistakes.size() == mistakes_before) check_range(reader, node, *coefficient);
  return coefficient;
}

void read_tree(Reader& reader, Entries& entries, const Node& node, const std::string& path) {
  if (node.find("value")) {
    if (auto coefficient = read_coefficient(reader, node, path)) entries.push_back(std::move(coefficient));
    return;
  }
  if (node.kind != Node::Kind::mapping)
    return reader.complain(node, path, "is neither a coefficient nor a group of coefficients");
  for (const Node::Entry& entry : node.entries) read_tree(reader, entries, *entry.value, path + "." + entry.key);
}

// An overlay's entry for one coefficient.
class Overlay {
 public:
  Overlay(Reader& reader, const Node& node, std::string source_name)
      : reader_(reader), node_(node), source_name_(std::move(source_name)) {}

  std::shared_ptr<const Coefficient> operator()(const Coefficient& old) {
    const std::size_t mistakes_before = reader_.mistakes.size();
    auto changed = std::make_shared<Coefficient>(old);
    changed->overlaid = true;
    changed->source = source_name_;
    if (node_.kind == Node::Kind::mapping) {
      read_fields(*changed);
    } else {
      changed->value = reader_.values(node_, old.path, old.unit);
    }
    if (reader_.mistakes.size() == mistakes_before) check(*changed, old.value.size());
    return changed;
  }

 private:
  void read_fields(Coefficient& changed) {
    const std::string& path = changed.path;
    reader_.check_fields(node_, path, {"value", "unit", "low", "high", "grade", "source", "note", "outside_range"});
    changed.value = reader_.values(field(reader_, node_, path, "value"), path + ".value", changed.unit);
    with("unit", [&](const Node& node) {
      if (node.text != changed.unit)
        reader_.complain(node, path + ".unit", "is not the coefficient's unit", changed.unit);
    });
    with("low", [&](const Node& node) { changed.low = reader_.values(node, path + ".low", changed.unit); });
    with("high", [&](const Node& node) { changed.high = reader_.values(node, path + ".high", changed.unit); });
    with("source", [&](const Node& node) { changed.source = reader_.text(node, path + ".source"); });
    with("note", [&](const Node& node) { changed.note = reader_.text(node, path + ".note"); });
    with("grade", [&](const Node& node) { changed.grade = node.text, check_grade(reader_, node, path); });
    with("outside_range", [&](const Node& node) {
      const Parsed<bool> answer = parse_boolean(node);
      if (!answer.value)
        reader_.complain(node, path + ".outside_range", answer.complaint.problem, answer.complaint.allowed);
      outside_range_ = answer.value.value_or(false);
    });
  }

  template <class Use>
  void with(std::string_view name, Use use) {
    if (const Node::Entry* entry = node_.find(name)) use(*entry->value);
  }

  void check(const Coefficient& changed, std::size_t entries) {
    if (changed.value.size() != entries || changed.low.size() != entries || changed.high.size() != entries) {
      return reader_.complain(node_, changed.path, "has " + std::to_string(changed.value.size()) + " values",
                              std::to_string(entries));
    }
    if (outside_range_) return;
    for (std::size_t i = 0; i < entries; ++i) {
      if (changed.value[i] >= changed.low[i] && changed.value[i] <= changed.high[i]) continue;
      return reader_.complain(
          node_, changed.path, number_text(changed.value[i]) + " is outside the range of the evidence",
          range_text(changed.low[i], changed.high[i], changed.unit) + "; outside_range: true to use it anyway");
    }
  }

  Reader& reader_;
  const Node& node_;
  std::string source_name_;
  bool outside_range_ = false;
};

void add_numbers(std::string& text, const std::vector<double>& values) {
  for (const double value : values) text += number_text(value) + ",";
  text += ";";
}

}  // namespace

Coefficients::Coefficients() : index_(std::make_shared<const Index>()) {}

Coefficients Coefficients::built_in() {
  static const Coefficients all = [] {  // a parse takes longer than the simulation of a small room
    Coefficients coefficients;
    for (const EmbeddedFile& file : embedded_coefficient_files()) {
      coefficients =
          coefficients.with_file(std::string(file.text), std::string(file.name.substr(0, file.name.find('.'))));
    }
    return coefficients;
  }();
  return all;
}

Coefficients Coefficients::with_file(std::string text, const std::string& file) const {
  const Document document = Document::from_text(std::move(text), file + ".yaml");
  Coefficients coefficients = *this;
  Reader reader;
  reader.mistakes = document.mistakes();
  read_tree(reader, coefficients.entries_, *document.root(), file);
  if (!reader.mistakes.empty()) throw ScenarioError(std::move(reader.mistakes));
  Index index;
  for (std::size_t i = 0; i < coefficients.entries_.size(); ++i) index.emplace(coefficients.entries_[i]->path, i);
  coefficients.index_ = std::make_shared<const Index>(std::move(index));
  return coefficients;
}

Coefficients Coefficients::with_overlay(std::string text, std::string source_name) const {
  const Document document = Document::from_text(std::move(text), source_name);
  Coefficients coefficients = *this;
  Reader reader;
  reader.mistakes = document.mistakes();
  const auto apply = [&](const auto& self, const Node::Entry& entry, const std::string& path) -> void {
    const auto known = index_->find(path);
    if (known != index_->end() && coefficients.entries_[known->second] != entries_[known->second]) {
      reader.mistakes.push_back(
          mistake_at(entry.place, path, shown(*entry.value), "is given more than once", "each coefficient only once"));
    } else if (known != index_->end()) {
      auto& slot = coefficients.entries_[known->second];
      slot = Overlay(reader, *entry.value, "overlay " + source_name)(*slot);
    } else if (entry.value->kind == Node::Kind::mapping && !entry.value->find("value")) {
      for (const Node::Entry& below : entry.value->entries) self(self, below, path + "." + below.key);
    } else {
      reader.mistakes.push_back(
          mistake_at(entry.place, path, shown(*entry.value), "is not a coefficient", "", closest(path, paths())));
    }
  };
  for (const Node::Entry& entry : document.root()->entries) apply(apply, entry, entry.key);
  if (!reader.mistakes.empty()) throw ScenarioError(std::move(reader.mistakes));
  return coefficients;
}

Coefficients Coefficients::with_value(std::string_view path, double value) const {
  return with_values({{std::string(path), value}});
}

Coefficients Coefficients::with_values(const std::vector<std::pair<std::string, double>>& values) const {
  Coefficients coefficients = *this;
  for (const auto& [path, value] : values) {
    const std::size_t index = index_of(path);
    if (entries_[index]->is_table()) throw InternalError("The coefficient '" + path + "' is a table.");
    auto changed = std::make_shared<Coefficient>(*entries_[index]);
    changed->value = {value};
    coefficients.entries_[index] = std::move(changed);
  }
  return coefficients;
}

Coefficients Coefficients::with_table(std::string_view path, std::vector<double> values) const {
  Coefficients coefficients = *this;
  const std::size_t index = index_of(path);
  auto changed = std::make_shared<Coefficient>(*entries_[index]);
  if (!changed->is_table() || changed->value.size() != values.size()) {
    throw InternalError("The coefficient '" + std::string(path) + "' is not a table of " +
                        std::to_string(values.size()) + ".");
  }
  changed->value = std::move(values);
  coefficients.entries_[index] = std::move(changed);
  return coefficients;
}

const Coefficient& Coefficients::with_unit(std::string_view path, std::string_view unit) const {
  const Coefficient& coefficient = *entries_[index_of(path)];
  if (coefficient.unit == unit) return coefficient;
  throw InternalError("The coefficient '" + std::string(path) + "' is in '" + coefficient.unit + "' and was read in '" +
                      std::string(unit) + "'.");
}

double Coefficients::number(std::string_view path, std::string_view unit) const {
  const Coefficient& coefficient = with_unit(path, unit);
  if (coefficient.is_table()) throw InternalError("The coefficient '" + std::string(path) + "' is a table.");
  return coefficient.value.front();
}

const std::vector<double>& Coefficients::table(std::string_view path, std::string_view unit) const {
  const Coefficient& coefficient = with_unit(path, unit);
  if (!coefficient.is_table()) throw InternalError("The coefficient '" + std::string(path) + "' is not a table.");
  return coefficient.value;
}

const Axis& Coefficients::axis_of(std::string_view path) const {
  const Coefficient& coefficient = *entries_[index_of(path)];
  if (!coefficient.axis) throw InternalError("The coefficient '" + std::string(path) + "' has no axis.");
  return *coefficient.axis;
}

const std::vector<double>& Coefficients::axis(std::string_view path) const {
  const Axis& axis = axis_of(path);
  if (axis.at.empty()) throw InternalError("The axis of '" + std::string(path) + "' has text labels.");
  return axis.at;
}

const std::vector<std::string>& Coefficients::axis_labels(std::string_view path) const { return axis_of(path).labels; }

const Coefficient& Coefficients::find(std::string_view path) const {
  if (has(path)) return *entries_[index_of(path)];
  const std::string near = closest(path, paths());
  throw UserError("There is no coefficient '" + std::string(path) + "'." +
                  (near.empty() ? "" : " Did you mean " + near + "?"));
}

bool Coefficients::has(std::string_view path) const { return index_->contains(std::string(path)); }

std::vector<std::string> Coefficients::paths() const {
  std::vector<std::string> paths;
  for (const auto& entry : entries_) paths.push_back(entry->path);
  return paths;
}

std::vector<std::string> Coefficients::overlaid_paths() const {
  std::vector<std::string> paths;
  for (const auto& entry : entries_) {
    if (entry->overlaid) paths.push_back(entry->path);
  }
  return paths;
}

std::string Coefficients::hash() const {
  std::string text;
  for (const auto& entry : entries_) {
    text += entry->path + "|" + entry->unit + "|";
    for (const auto* values : {&entry->value, &entry->low, &entry->high}) add_numbers(text, *values);
    if (entry->axis) {
      for (const std::string& label : entry->axis->labels) text += label + ",";
    }
    text += "\n";
  }
  return fnv1a_hex(text);
}

std::size_t Coefficients::index_of(std::string_view path) const {
  const auto entry = index_->find(std::string(path));
  if (entry == index_->end()) throw InternalError("There is no coefficient '" + std::string(path) + "'.");
  return entry->second;
}

}  // namespace farrowtide
