#include "libsim/run/scenario.hpp"

#include <algorithm>
#include <array>
#include <string_view>
#include <utility>

namespace farrowtide {
namespace {

constexpr const char* alternatives_key = "alternatives";
constexpr const char* cases_key = "cases";

struct Settings {
  std::string title, question;
  FarmSettings farm;
  StudySettings study;
  std::vector<SettingInEffect> in_effect;

  static Settings read(Section& section, const PolicyCatalogues& catalogues = PolicyCatalogues::built_in()) {
    Settings settings;
    settings.title = section.string({.name = "title", .help = "Title of the scenario, in one line."});
    settings.question =
        section.string({.name = "question", .default_value = "", .help = "Question that the scenario answers."});
    settings.farm = FarmSettings::read(section, catalogues);
    settings.study = section.read<StudySettings>("study", "Settings of the comparison.");
    section.anything(cases_key,
                     "Conditions that cannot be chosen, by name: {dotted.key: value}. All alternatives are compared "
                     "within each case.");
    section.anything(alternatives_key,
                     "Choices to compare, by name: {dotted.key: value}; each replaces the whole value at its key.");
    return settings;
  }
};

Settings read_all(const Document& document, const Coefficients& coefficients, const PolicyCatalogues& catalogues) {
  Reading reading(document, coefficients);
  Section root = reading.root();
  Settings settings = Settings::read(root, catalogues);
  reading.finish();
  settings.in_effect = reading.in_effect();
  return settings;
}

// Runs `check`, adding the mistakes it throws to `mistakes`.
template <class Check>
void collect(std::vector<Mistake>& mistakes, Check check) {
  try {
    check();
  } catch (const ScenarioError& error) {
    mistakes.insert(mistakes.end(), error.mistakes().begin(), error.mistakes().end());
  }
}

// Keys that describe the study as a whole, which alternatives and cases cannot change.
bool is_of_the_study(const std::string& path) {
  static constexpr std::array<std::string_view, 5> keys = {"title", "question", "study", cases_key, alternatives_key};
  return std::ranges::find(keys, std::string_view(path).substr(0, path.find('.'))) != keys.end();
}

std::vector<Variation> variations(const Document& document, const char* key, std::vector<Mistake>& mistakes) {
  std::vector<Variation> variations;
  collect(mistakes, [&] { variations = document.variations(key); });
  for (const Variation& variation : variations) {
    for (const Override& change : variation.overrides) {
      if (!is_of_the_study(change.path)) continue;
      mistakes.push_back(mistake_at(change.place, std::string(key) + "." + variation.name + "." + change.path,
                                    shown(*change.value), "is not a key of the farm: the study as a whole has one",
                                    "keys of the farm and its policies"));
    }
  }
  return variations;
}

const Variation& named(const std::string& name, const std::vector<Variation>& variations, const char* kind) {
  std::vector<std::string> names;
  for (const Variation& variation : variations) {
    if (variation.name == name) return variation;
    names.push_back(variation.name);
  }
  const std::string nearest = closest(name, names);
  std::string known;
  for (const std::string& other : names) known.append(known.empty() ? "'" : ", '").append(other).append("'");
  throw UserError(
      std::string("no ") + kind + " is called '" + name + "' (" +
      (known.empty() ? std::string("the scenario has no ") + kind + "s" : std::string(kind) + "s: " + known) + ")" +
      (nearest.empty() ? "" : "; did you mean '" + nearest + "'?"));
}

Document without_variations(const Document& document) { return document.without(alternatives_key).without(cases_key); }

}  // namespace

struct Scenario::Content {
  Document document;
  std::string source_name;
  Coefficients coefficients;
  PolicyCatalogues catalogues;
  Settings settings;
  std::vector<Variation> alternatives, cases;
};

StudySettings StudySettings::read(Section& section) {
  StudySettings study;
  study.replications = section.integer({.name = "replications",
                                        .low = 2,
                                        .high = 1000000,
                                        .default_value = 200,
                                        .help = "Number of rooms simulated per alternative."});
  study.seed = section.seed({.name = "seed", .default_value = 1, .help = "Seed of all random draws."});
  study.reference =
      section.string({.name = "reference",
                      .default_value = "",
                      .help = "The alternative that the others are compared with; the first if not given."});
  study.outputs = section.strings({.name = "outputs",
                                   .default_value = std::vector<std::string>{},
                                   .help = "Outputs listed first in the report, by name."});
  return study;
}

void Scenario::check_reference(const Document& document, const Content& content) {
  const std::string& reference = content.settings.study.reference;
  std::vector<std::string> names;
  for (const Variation& variation : content.alternatives) names.push_back(variation.name);
  if (reference.empty() || names.empty() || std::ranges::find(names, reference) != names.end()) return;
  const Node::Entry* entry = document.root()->find("study")->value->find("reference");
  throw ScenarioError(
      {mistake_at(entry->value->place, "study.reference", reference, "is not an alternative of this scenario",
                  "a name listed under `alternatives`", closest(reference, names))});
}

// Every mistake is reported once: those of the file itself, then those that each case and each alternative adds.
Scenario Scenario::read(Document document, std::string source_name, Coefficients coefficients,
                        const PolicyCatalogues& catalogues) {
  auto content = std::make_shared<Content>(
      Content{std::move(document), std::move(source_name), std::move(coefficients), catalogues, {}, {}, {}});
  const auto read_document = [&](const Document& given) {
    return read_all(given, content->coefficients, content->catalogues);
  };
  std::vector<Mistake> mistakes;
  collect(mistakes, [&] { content->settings = read_document(content->document); });
  content->alternatives = variations(content->document, alternatives_key, mistakes);
  content->cases = variations(content->document, cases_key, mistakes);
  const Document plain = without_variations(content->document);
  for (const auto* list : {&content->cases, &content->alternatives}) {
    for (const Variation& variation : *list) {
      collect(mistakes, [&] { read_document(plain.with_overrides(variation.overrides)); });
    }
  }
  if (!mistakes.empty()) throw ScenarioError(std::move(mistakes));
  check_reference(content->document, *content);
  return Scenario(std::move(content));
}

Scenario Scenario::read_anew(Document document) const {
  return read(std::move(document), content_->source_name, content_->coefficients, content_->catalogues);
}

Scenario Scenario::parse(std::string text, std::string source_name, const PolicyCatalogues& catalogues) {
  Document document = Document::from_text(std::move(text), source_name);
  return read(std::move(document), std::move(source_name), Coefficients::built_in(), catalogues);
}

Scenario Scenario::load(const std::string& path, const PolicyCatalogues& catalogues) {
  return read(Document::from_file(path), path, Coefficients::built_in(), catalogues);
}

Scenario Scenario::with_overrides(const std::vector<Override>& overrides) const {
  return read_anew(content_->document.with_overrides(overrides));
}

// The others of its kind are dropped: they need not be valid together with the one chosen.
Scenario Scenario::settled(const char* key, const Variation& variation) const {
  return read_anew(content_->document.without(key).with_overrides(variation.overrides));
}

Scenario Scenario::alternative(const std::string& name) const {
  return settled(alternatives_key, named(name, alternatives(), "alternative"));
}

Scenario Scenario::without_alternatives() const { return settled(alternatives_key, {}); }

Scenario Scenario::in_case(const std::string& name) const { return settled(cases_key, named(name, cases(), "case")); }

Scenario Scenario::with_coefficients(const Coefficients& coefficients) const {
  return read(content_->document, content_->source_name, coefficients, content_->catalogues);
}

const std::string& Scenario::title() const { return content_->settings.title; }
const std::string& Scenario::question() const { return content_->settings.question; }
const std::string& Scenario::source_name() const { return content_->source_name; }
const Document& Scenario::document() const { return content_->document; }
std::string Scenario::hash() const { return content_->document.hash(); }
const Coefficients& Scenario::coefficients() const { return content_->coefficients; }
const FarmSettings& Scenario::farm() const { return content_->settings.farm; }
std::vector<std::string> Scenario::withheld_care() const {
  const FarmSettings& settings = farm();
  std::vector<std::string> withheld;
  const auto add = [&](bool is_withheld, const char* phrase) {
    if (is_withheld) withheld.emplace_back(phrase);
  };
  add(!settings.attendance->round_every(), "births are not attended and no sow is helped");
  add(!settings.care->checks(), "sows are not checked for illness");
  add(!settings.care->treats(), "sick sows are not treated");
  add(!settings.water->checks(), "drinkers are not checked");
  return withheld;
}

const std::vector<SettingInEffect>& Scenario::settings_in_effect() const { return content_->settings.in_effect; }
const StudySettings& Scenario::study() const { return content_->settings.study; }
const std::vector<Variation>& Scenario::alternatives() const { return content_->alternatives; }
const std::vector<Variation>& Scenario::cases() const { return content_->cases; }

Declaration scenario_declaration() { return describe_settings<Settings>(Coefficients::built_in()); }

}  // namespace farrowtide
