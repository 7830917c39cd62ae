// The declaration-driven reader: one function reads a mapping of a document or, without a document, describes its keys.
//
//   struct Drinker {
//     double flow_l_per_min;
//     static Drinker read(Section& section) {
//       return {.flow_l_per_min = section.number({.name = "flow_l_per_min", .unit = "L/min", .low = 0.1, .high = 10,
//                                                 .default_value = 2, .help = "Flow when pressed."})};
//     }
//   };
//   Drinker drinker = read_settings<Drinker>(document, coefficients);  // throws ScenarioError with every mistake
//   Declaration root = describe_settings<Drinker>(coefficients);       // root.keys: what it can say
//
// A mistake is recorded, and the default (of a required key the value nearest to zero, or an empty one) is returned, so
// that reading goes on and finds the other mistakes. Declare every key whatever the values of others, so that
// describing sees it; `has` is true there.
#pragma once

#include <chrono>
#include <deque>
#include <functional>
#include <list>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "libsim/kernel/names.hpp"
#include "libsim/kernel/time.hpp"
#include "libsim/scenario/coefficients.hpp"
#include "libsim/scenario/declaration.hpp"
#include "libsim/scenario/document.hpp"
#include "libsim/scenario/scalar.hpp"

namespace farrowtide {

class Reading;

// A key as it was read: its value in the declared unit, whether it was given or is the default, and where.
struct SettingInEffect {
  std::string path;   // dotted
  std::string value;  // as text: "20 degC", "[\"07:00\", \"15:00\"]"
  bool given = false;
  Place place;            // of the key where it was given
  std::string only_with;  // as in the key's declaration
};

// A handle on one mapping of a Reading, which it must not outlive.
class Section {
 public:
  double number(const Number& key);
  Duration duration(const Number& key);  // a number in a unit of time, to the nearest second
  int integer(const Integer& key);
  std::uint64_t seed(const Seed& key);
  bool boolean(const Bool& key);
  std::string string(const String& key);
  std::string choice(const Choice& key);
  Duration time_of_day(const TimeOfDay& key);  // since midnight
  std::vector<Duration> times_of_day(const TimesOfDay& key);
  std::chrono::year_month_day date(const Date& key);
  std::vector<double> numbers(const Numbers& key);
  std::vector<int> integers(const Integers& key);
  std::vector<std::string> strings(const Strings& key);

  // Empty if the key is absent.
  std::optional<double> optional_number(const Number& key);
  std::optional<int> optional_integer(const Integer& key);
  std::optional<Duration> optional_time_of_day(const TimeOfDay& key);
  std::optional<std::vector<double>> optional_numbers(const Numbers& key);

  // A value of an enum, by the names of its table (kernel/names.hpp), in place of key.options.
  template <class Enum>
  Enum choice(Choice key);

  // What the chosen entry of a catalogue reads from its own keys, which stand beside this one. An entry has `name`,
  // `help` and a copyable `read` that takes a Section&; describing calls all of them.
  template <class Catalogue>
  auto variants(Choice key, const Catalogue& catalogue);

  // Mappings below this one. An absent section reads as an empty one.
  Section section(const std::string& name, const std::string& help, const std::string& only_with = {});
  std::optional<Section> optional_section(const std::string& name, const std::string& help);
  std::vector<Section> list(const std::string& name, const std::string& help);
  std::vector<std::pair<std::string, Section>> named(const std::string& name, const std::string& help);
  void anything(const std::string& name, const std::string& help);  // a key that is not read here

  template <class Settings>
  Settings read(const std::string& name, const std::string& help) {
    Section part = section(name, help);
    return Settings::read(part);
  }
  template <class Settings>
  std::vector<Settings> read_list(const std::string& name, const std::string& help) {
    std::vector<Settings> settings;
    for (Section& part : list(name, help)) settings.push_back(Settings::read(part));
    return settings;
  }

  bool has(std::string_view name) const;
  // For rules between keys: records a mistake at the key, or at the section if the key is absent or "".
  void refuse(std::string_view name, std::string problem, std::string allowed = {}, std::string suggestion = {});

  const Coefficients& coefficients() const;
  std::string path(std::string_view name = {}) const;  // dotted, as in messages
  bool describing() const;

 private:
  friend class Reading;
  using Keys = std::list<Declaration>;
  struct OtherVariant {
    std::string kind_key;
    std::string name;
    std::function<void(Section&)> read;
  };
  // One mapping of the document (or the place where it could be) and the keys declared for it.
  struct Frame {
    NodeRef node;  // nullptr: absent, or describing
    Place place;   // where absence is reported
    std::string path;
    std::vector<const Keys*> declared;
    bool silent = false;  // below a mistake: absent keys are not reported
    bool checks_unknown = true;
    std::string only_with = {};             // of the mapping as a whole
    std::vector<OtherVariant> others = {};  // not chosen; used only to explain an unknown key
  };

  Section(Reading& reading, Frame& frame, Keys& keys) : reading_(&reading), frame_(&frame), keys_(&keys) {}

  Declaration& declare(Declaration declaration);
  void check_declared_once(const std::string& name) const;
  // What the mapping holds at the key if it is of the kind; otherwise nullptr, with the mistake recorded.
  const Node::Entry* given(const Declaration& declaration, Node::Kind kind);
  const Node::Entry* find(std::string_view name) const;  // by name or by an alias of the key declared under it
  void check_given_once(const Declaration& declaration);
  void record(const Node& node, const std::string& name, const Complaint& complaint);
  void note(const Declaration& declaration, std::string value);
  template <class Parse>
  auto parsed(const Declaration& declaration, Parse parse) -> decltype(parse(std::declval<const Node&>()).value);
  template <class Parse>
  auto parsed_list(const Declaration& declaration, Parse parse)
      -> std::optional<std::vector<typename decltype(parse(std::declval<const Node&>()).value)::value_type>>;
  std::optional<std::string> choose(const Choice& key);
  Section child(Declaration& declaration, NodeRef node, const Place& place, const std::string& path);
  Section variant(const Choice& key, std::string_view name, std::string_view help, bool chosen);
  void mistaken_variant();
  template <class Key, class Result>
  std::optional<Result> if_given(const Key& key, Result (Section::*reader)(const Key&));

  Reading* reading_;
  Frame* frame_;
  Keys* keys_;
  bool optional_ = false;
};

// One pass over a document, or one description. Not copyable: its sections point into it.
class Reading {
 public:
  Reading(const Document& document, Coefficients coefficients);
  explicit Reading(Coefficients coefficients);  // describes
  Reading(const Reading&) = delete;
  Reading& operator=(const Reading&) = delete;

  Section root();
  // Looks for unknown keys, then throws ScenarioError with all mistakes if there are any.
  void finish();
  const Declaration& declared() const { return root_; }
  const std::vector<SettingInEffect>& in_effect() const { return in_effect_; }

 private:
  friend class Section;
  void record(Mistake mistake);
  void find_unknown_keys(const Section::Frame& frame);
  Mistake unknown_key(const Section::Frame& frame, const Node::Entry& entry) const;

  Coefficients coefficients_;
  bool describing_;
  NodeRef document_;
  std::vector<Mistake> mistakes_;
  std::vector<SettingInEffect> in_effect_;
  std::deque<Section::Frame> frames_;
  Declaration root_;
};

template <class Settings>
Settings read_settings(const Document& document, const Coefficients& coefficients) {
  Reading reading(document, coefficients);
  Section root = reading.root();
  Settings settings = Settings::read(root);
  reading.finish();
  return settings;
}

template <class Settings>
Declaration describe_settings(const Coefficients& coefficients) {
  Reading reading(coefficients);
  Section root = reading.root();
  Settings::read(root);
  return reading.declared();
}

template <class Enum>
Enum Section::choice(Choice key) {
  const auto& options = NameTable<Enum>::all;
  key.options.assign(options.begin(), options.end());
  return value_named<Enum>(choice(key)).value_or(Enum{});
}

template <class Catalogue>
auto Section::variants(Choice key, const Catalogue& catalogue) {
  using Result = decltype(std::begin(catalogue)->read(*this));
  for (const auto& entry : catalogue) key.options.emplace_back(entry.name);
  const std::optional<std::string> chosen = choose(key);
  const std::string taken = chosen ? *chosen : key.default_value.value_or(key.options.front());
  if (!chosen) mistaken_variant();
  std::optional<Result> result;
  for (const auto& entry : catalogue) {
    if (entry.name != taken && !describing()) {
      frame_->others.push_back({key.name, std::string(entry.name), [read = entry.read](Section& part) { read(part); }});
      continue;
    }
    Section own = variant(key, entry.name, entry.help, chosen.has_value());
    Result policy = entry.read(own);
    if (entry.name == taken) result.emplace(std::move(policy));
  }
  return std::move(*result);
}

}  // namespace farrowtide
