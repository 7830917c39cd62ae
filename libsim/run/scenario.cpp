#include "libsim/run/scenario.hpp"

#include <algorithm>
#include <array>
#include <string_view>
#include <utility>

namespace farrowtide {
namespace {

constexpr const char* alternatives_key = "alternatives";
constexpr const char* cases_key = "cases";
constexpr const char* prices_key = "prices";

struct Settings {
  std::string title, question;
  FarmSettings farm;
  StudySettings study;
  std::optional<Prices> prices;
  std::vector<SettingInEffect> in_effect;

  static Settings read(Section& section, const PolicyCatalogues& catalogues = PolicyCatalogues::built_in()) {
    Settings settings;
    settings.title = section.string({.name = "title", .help = "Title of the scenario, in one line."});
    settings.question =
        section.string({.name = "question", .default_value = "", .help = "Question that the scenario answers."});
    settings.farm = FarmSettings::read(section, catalogues);
    settings.study = section.read<StudySettings>("study", "Settings of the comparison.");
    if (std::optional<Section> prices = section.optional_section(
            prices_key, "Prices, from which margins follow; without this section nothing is counted in money."))
      settings.prices = Prices::read(*prices);
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

// Whether replacing the value at one path would undo what is replaced at the other.
bool overlap(std::string_view one, std::string_view other) {
  const auto [shorter, longer] = std::minmax(one, other, [](auto a, auto b) { return a.size() < b.size(); });
  return longer.starts_with(shorter) && (longer.size() == shorter.size() || longer[shorter.size()] == '.');
}

// The changes of several alternatives as those of one. ScenarioError where two of them change the same key.
Variation joined(const std::vector<Variation>& alternatives, const std::vector<std::string>& names) {
  Variation all;
  std::vector<Mistake> mistakes;
  std::vector<std::pair<std::string_view, const Override*>> seen;
  for (const std::string& name : names) {
    const Variation& part = named(name, alternatives, "alternative");
    for (const Override& change : part.overrides) {
      for (const auto& [other, earlier] : seen) {
        if (other == name || !overlap(earlier->path, change.path)) continue;
        mistakes.push_back(mistake_at(change.place, std::string(alternatives_key) + "." + name + "." + change.path,
                                      shown(*change.value),
                                      "is part of the same programme as '" + std::string(other) + "', which changes '" +
                                          earlier->path + "' on line " + std::to_string(earlier->place.line),
                                      "practices that change different keys"));
      }
    }
    for (const Override& change : part.overrides) seen.emplace_back(name, &change);
    all.overrides.insert(all.overrides.end(), part.overrides.begin(), part.overrides.end());
  }
  if (!mistakes.empty()) throw ScenarioError(std::move(mistakes));
  return all;
}

// A variation may change a price, but not which things have one: its margin would be one of other things.
void require_same_prices(const std::optional<Prices>& prices, const std::optional<Prices>& of_variation,
                         const char* key, const Variation& variation) {
  if (!of_variation || (prices && prices->counts_same_things_as(*of_variation))) return;
  const auto change = std::ranges::find_if(variation.overrides, [](const Override& given) {
    return given.path == prices_key || given.path.starts_with(std::string(prices_key) + ".");
  });
  if (change == variation.overrides.end()) return;  // a mistake in the file itself, reported there
  throw ScenarioError(
      {mistake_at(change->place, std::string(key) + "." + variation.name + "." + change->path, shown(*change->value),
                  "counts other things in money than the scenario as written",
                  "the currency, the prices and matters_per_litter that `prices` of the scenario has")});
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
  study.parts = section.strings({.name = "parts",
                                 .default_value = std::vector<std::string>{},
                                 .help = "Alternatives that are practices: `farrowtide parts` adds each alone to the "
                                         "scenario as written, and takes each alone out of all of them together."});
  return study;
}

// Mistakes in what `study` says about the alternatives. There are none to name where one has been chosen.
void Scenario::check_study(const Document& document, const Content& content) {
  if (content.alternatives.empty()) return;
  const StudySettings& study = content.settings.study;
  std::vector<std::string> names;
  for (const Variation& variation : content.alternatives) names.push_back(variation.name);
  std::vector<Mistake> mistakes;
  const auto require_alternative = [&](const char* key, const std::string& name, const Place& place) {
    if (std::ranges::find(names, name) != names.end()) return;
    mistakes.push_back(mistake_at(place, std::string("study.") + key, name, "is not an alternative of this scenario",
                                  "a name listed under `alternatives`", closest(name, names)));
  };
  const auto place_of = [&](const char* key) { return document.root()->find("study")->value->find(key)->value->place; };
  if (!study.reference.empty()) require_alternative("reference", study.reference, place_of("reference"));
  for (auto part = study.parts.begin(); part != study.parts.end(); ++part) {
    require_alternative("parts", *part, place_of("parts"));
    if (std::find(study.parts.begin(), part, *part) == part) continue;
    mistakes.push_back(mistake_at(place_of("parts"), "study.parts", *part, "is listed twice", "each name once"));
  }
  if (mistakes.empty() && !study.parts.empty()) collect(mistakes, [&] { joined(content.alternatives, study.parts); });
  if (!mistakes.empty()) throw ScenarioError(std::move(mistakes));
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
  const bool readable = mistakes.empty();
  content->alternatives = variations(content->document, alternatives_key, mistakes);
  content->cases = variations(content->document, cases_key, mistakes);
  const Document plain = without_variations(content->document);
  const auto check_variations = [&](const char* key, const std::vector<Variation>& list) {
    for (const Variation& variation : list) {
      collect(mistakes, [&] {
        const Settings settings = read_document(plain.with_overrides(variation.overrides));
        if (readable) require_same_prices(content->settings.prices, settings.prices, key, variation);
      });
    }
  };
  check_variations(cases_key, content->cases);
  check_variations(alternatives_key, content->alternatives);
  if (!mistakes.empty()) throw ScenarioError(std::move(mistakes));
  check_study(content->document, *content);
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

Scenario Scenario::together(const std::vector<std::string>& names) const {
  return settled(alternatives_key, joined(alternatives(), names));
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
const std::optional<Prices>& Scenario::prices() const { return content_->settings.prices; }
const StudySettings& Scenario::study() const { return content_->settings.study; }
const std::vector<Variation>& Scenario::alternatives() const { return content_->alternatives; }
const std::vector<Variation>& Scenario::cases() const { return content_->cases; }

Declaration scenario_declaration() { return describe_settings<Settings>(Coefficients::built_in()); }

}  // namespace farrowtide
