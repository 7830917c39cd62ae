#include "libsim/scenario/reference.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <vector>

#include "libsim/kernel/errors.hpp"
#include "libsim/scenario/mistakes.hpp"
#include "libsim/scenario/scalar.hpp"
#include "libsim/scenario/units.hpp"

namespace farrowtide {
namespace {

using Kind = Declaration::Kind;
using Presence = Declaration::Presence;

bool has_keys(const Declaration& key) {
  return key.kind == Kind::section || key.kind == Kind::list || key.kind == Kind::named;
}

std::string below(const std::string& path, const Declaration& key) {
  const std::string own = path.empty() ? key.name : path + "." + key.name;
  return key.kind == Kind::list ? own + "[]" : key.kind == Kind::named ? own + ".NAME" : own;
}

std::string default_text(const Declaration& key) {
  if (key.presence == Presence::has_default) return key.default_value;
  return key.presence == Presence::optional ? "none" : "required";
}

std::string comma_before(const std::string& text) { return text.empty() ? "" : ", " + text; }

std::string allowed_text(const Declaration& key) {
  switch (key.kind) {
    case Kind::boolean:
      return "true or false";
    case Kind::string:
      return "text";
    case Kind::choice:
      return joined(key.options, ", ");
    case Kind::time_of_day:
      return "00:00 to 23:59";
    case Kind::times_of_day:
      return "a list of times, each later than the one before";
    case Kind::date:
      return "year-month-day";
    case Kind::strings:
      return "a list of " + (key.options.empty() ? "texts" : joined(key.options, ", "));
    case Kind::integer:
      return "a whole number" + comma_before(range_text(key.low, key.high, "-"));
    case Kind::number:
      return range_text(key.low, key.high, key.unit);
    case Kind::numbers:
      return "a list of numbers" + comma_before(range_text(key.low, key.high, key.unit));
    case Kind::integers:
      return "a list of whole numbers" + comma_before(range_text(key.low, key.high, "-"));
    default:
      return "";
  }
}

// Visits every key with its path and the choice it depends on ("feeding.kind by_hand"; "" for none).
void visit(const std::list<Declaration>& keys, const std::string& path, const std::string& condition,
           const std::function<void(const Declaration&, const std::string&, const std::string&)>& use) {
  for (const Declaration& key : keys) {
    const std::string own = path.empty() ? key.name : path + "." + key.name;
    use(key, own, condition);
    visit(key.keys, below(path, key), condition, use);
    for (const Declaration::Variant& variant : key.variants) visit(variant.keys, path, own + " " + variant.name, use);
  }
}

std::string cell(std::string text) {
  for (std::size_t i = 0; (i = text.find('|', i)) != std::string::npos; i += 2) text.insert(i, 1, '\\');
  std::replace(text.begin(), text.end(), '\n', ' ');
  return text;
}

std::string code(const std::string& text) { return text.empty() ? "" : "`" + text + "`"; }

std::string markdown_row(const Declaration& key) {
  const std::string standard = key.presence == Presence::has_default ? code(key.default_value) : default_text(key);
  const std::string unit = key.unit == "-" ? "" : key.unit;
  return "| " + code(key.name) + " | " + cell(unit) + " | " + cell(has_keys(key) ? "" : standard) + " | " +
         cell(allowed_text(key)) + " | " + cell(key.help) + " |\n";
}

void markdown_table(std::string& out, const std::list<Declaration>& keys, const std::string& path,
                    const std::string& title, const std::string& help) {
  if (!keys.empty()) {
    out += "\n## " + title + "\n\n" + help + (help.empty() ? "" : "\n\n");
    out += "| Key | Unit | Default | Allowed | Meaning |\n|---|---|---|---|---|\n";
  }
  for (const Declaration& key : keys) out += markdown_row(key);
  for (const Declaration& key : keys) {
    const std::string own = below(path, key);
    if (has_keys(key)) markdown_table(out, key.keys, own, code(own), key.help);
    for (const Declaration::Variant& variant : key.variants) {
      const std::string where = path.empty() ? "" : code(path) + " with ";
      markdown_table(out, variant.keys, path, where + code(key.name + ": " + variant.name), variant.help);
    }
  }
}

std::string in_quotes(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    if (static_cast<unsigned char>(c) >= 0x20)
      out += c;
    else
      out += ' ';
  }
  return out + '"';
}

std::string quoted_list(const std::vector<std::string>& words) {
  std::vector<std::string> all;
  for (const std::string& word : words) all.push_back(in_quotes(word));
  return std::string("[").append(joined(all, ", ")) + "]";
}

std::string description(const Declaration& key) {
  std::string text = key.help;
  if (!key.unit.empty() && key.unit != "-") text += " Unit: " + joined(units_like(key.unit), ", ") + ".";
  if (key.unit == "-") text += " A share may be given in %.";
  if (const std::string allowed = allowed_text(key); !allowed.empty()) text += " Allowed: " + allowed + ".";
  return text;
}

std::string bounds(const Declaration& key) {
  std::string text;
  const bool whole = key.kind == Kind::integer || key.kind == Kind::integers;
  const double least = whole ? std::numeric_limits<int>::min() : -unbounded;
  const double most = whole ? std::numeric_limits<int>::max() : unbounded;
  if (key.low > least) text += ", \"minimum\": " + number_text(key.low);
  if (key.high < most) text += ", \"maximum\": " + number_text(key.high);
  return text;
}

// A bare number, or one with a unit, which only the reader can judge.
std::string number_schema(const Declaration& key) {
  return R"("anyOf": [{"type": "number")" + bounds(key) +
         R"(}, {"type": "string", "pattern": "^[-+]?[0-9.]+([eE][-+]?[0-9]+)? ?[^0-9 ].*$"}])";
}

std::string list_schema(const Declaration& key, const std::string& entry) {
  std::string text = R"("type": "array", "items": {)" + entry + "}";
  if (key.min_items > 0) text += ", \"minItems\": " + std::to_string(key.min_items);
  if (key.max_items < 1000) text += ", \"maxItems\": " + std::to_string(key.max_items);
  return text;
}

std::string object_schema(const std::list<Declaration>& keys);

std::string type_schema(const Declaration& key) {
  std::string time = R"("type": "string", "pattern": "^([01][0-9]|2[0-3]):[0-5][0-9]$")";
  switch (key.kind) {
    case Kind::number:
      return number_schema(key);
    case Kind::integer:
      return "\"type\": \"integer\"" + bounds(key);
    case Kind::boolean:
      return "\"type\": \"boolean\"";
    case Kind::string:
      return R"("type": ["string", "number"])";
    case Kind::choice:
      return "\"enum\": " + quoted_list(key.options);
    case Kind::time_of_day:
      return time;
    case Kind::times_of_day:
      return list_schema(key, time);
    case Kind::date:
      return R"("type": "string", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$")";
    case Kind::numbers:
      return list_schema(key, number_schema(key));
    case Kind::integers:
      return list_schema(key, "\"type\": \"integer\"" + bounds(key));
    case Kind::strings:
      return list_schema(
          key, key.options.empty() ? R"("type": ["string", "number"])" : "\"enum\": " + quoted_list(key.options));
    case Kind::section:
      return object_schema(key.keys);
    case Kind::list:
      return list_schema(key, object_schema(key.keys));
    case Kind::named:
      return R"("type": "object", "additionalProperties": {)" + object_schema(key.keys) + "}";
    case Kind::anything:
      break;
  }
  return "";
}

std::string standard_schema(const Declaration& key) {
  if (key.presence != Presence::has_default) return "";
  const bool as_written = key.kind != Kind::choice && key.kind != Kind::date && key.kind != Kind::strings;
  if (as_written) return ", \"default\": " + key.default_value;
  return key.kind == Kind::strings ? "" : ", \"default\": " + in_quotes(key.default_value);
}

std::string property(const Declaration& key) {
  const std::string type = type_schema(key);
  return in_quotes(key.name) + ": {\"description\": " + in_quotes(description(key)) + (type.empty() ? "" : ", ") +
         type + standard_schema(key) + "}";
}

std::string properties(const std::list<Declaration>& keys) {
  std::vector<std::string> all, required;
  for (const Declaration& key : keys) {
    all.push_back(property(key));
    if (key.presence == Presence::required) required.push_back(key.name);
  }
  std::string text = "\"properties\": {" + joined(all, ",\n") + "}";
  return required.empty() ? text : text + ", \"required\": " + quoted_list(required);
}

// "if kind is by_hand then these keys too"; an absent kind is its default.
std::string variant_schema(const Declaration& choice, const Declaration::Variant& variant) {
  const std::string is =
      "{\"properties\": {" + in_quotes(choice.name) + ": {\"const\": " + in_quotes(variant.name) + "}}";
  const bool by_default = choice.presence == Presence::has_default && choice.default_value == variant.name;
  const std::string present = by_default ? "" : ", \"required\": " + quoted_list({choice.name});
  return "{\"if\": " + is + present + "}, \"then\": {" + properties(variant.keys) + "}}";
}

std::string object_schema(const std::list<Declaration>& keys) {
  std::string text = "\"type\": \"object\", " + properties(keys);
  std::vector<std::string> variants;
  for (const Declaration& key : keys) {
    for (const Declaration::Variant& variant : key.variants) variants.push_back(variant_schema(key, variant));
  }
  if (!variants.empty()) text += ", \"allOf\": [" + joined(variants, ",\n") + "]";
  return text + ", \"unevaluatedProperties\": false";
}

// "rooms.0.crates" is explained as "rooms[].crates", "tasks.wash.every" as "tasks.NAME.every".
bool matches(std::string_view pattern, std::string_view key) {
  const std::string_view pattern_part = pattern.substr(0, pattern.find('.')), key_part = key.substr(0, key.find('.'));
  const bool last = pattern_part.size() == pattern.size(), key_last = key_part.size() == key.size();
  const auto rest = [](std::string_view text, std::string_view part) {
    return text.substr(std::min(part.size() + 1, text.size()));
  };
  if (pattern_part.ends_with("[]") && !key_part.ends_with("[]")) {
    if (pattern_part.substr(0, pattern_part.size() - 2) != key_part || last || key_last) return false;
    const std::string_view after = rest(key, key_part);
    const std::string_view index = after.substr(0, after.find('.'));
    const bool numbered = !index.empty() && index.find_first_not_of("0123456789") == index.npos;
    return matches(rest(pattern, pattern_part), numbered ? rest(after, index) : after);
  }
  if (pattern_part != key_part && (pattern_part != "NAME" || key_part.empty())) return false;
  return last || key_last ? last && key_last : matches(rest(pattern, pattern_part), rest(key, key_part));
}

std::string grade_words(const std::string& grade) {
  if (grade == "A") return "grade A: published";
  if (grade == "B") return "grade B: derived from or fitted to published values";
  return grade == "C" ? "grade C: trade practice or assumption" : "";
}

std::string explanation(const Declaration& key, const std::string& path, const std::string& condition) {
  std::string text = path + "\n  " + key.help + "\n";
  const auto line = [&](const std::string& label, const std::string& value) {
    if (!value.empty()) text += "  " + label + ": " + value + "\n";
  };
  line("Only with", condition);
  if (key.kind == Kind::number || key.kind == Kind::numbers) {
    line("Unit", key.unit == "-" ? "none; a share may be given in %" : joined(units_like(key.unit), ", "));
  }
  if (!has_keys(key)) line("Default", default_text(key));
  line("Allowed", allowed_text(key));
  line("Source",
       key.source.empty() || key.grade.empty() ? key.source : key.source + " (" + grade_words(key.grade) + ")");
  line("Coefficient", key.coefficient);
  for (const Declaration& part : key.keys) text += "  - " + part.name + ": " + part.help + "\n";
  for (const Declaration::Variant& variant : key.variants) text += "  - " + variant.name + ": " + variant.help + "\n";
  return text;
}

}  // namespace

std::string markdown_reference(const Declaration& root) {
  std::string text;
  markdown_table(text, root.keys, "", "Top level", root.help);
  return text.substr(std::min<std::size_t>(1, text.size()));
}

std::string json_schema(const Declaration& root, std::string_view title) {
  return "{\"$schema\": \"https://json-schema.org/draft/2020-12/schema\",\n\"title\": " + in_quotes(title) + ",\n" +
         object_schema(root.keys) + "}\n";
}

std::string explain(const Declaration& root, std::string_view key) {
  std::string text;
  std::vector<std::string> paths;
  visit(root.keys, "", "", [&](const Declaration& declaration, const std::string& path, const std::string& condition) {
    paths.push_back(path);
    if (matches(path, key)) text.append(text.empty() ? "" : "\n").append(explanation(declaration, path, condition));
  });
  if (!text.empty()) return text;
  std::string near = closest(key, paths);
  for (const std::string& path : paths) {  // the last word alone: "crates" for "rooms[].crates"
    if (near.empty() && path.ends_with(std::string(".").append(key))) near = path;
  }
  throw UserError("There is no key '" + std::string(key) + "'." + (near.empty() ? "" : " Did you mean " + near + "?"));
}

}  // namespace farrowtide
