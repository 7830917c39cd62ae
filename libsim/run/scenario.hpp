// A whole scenario: the farm's description, the policies, the alternatives to compare and how to study them.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "libsim/model/farm_settings.hpp"
#include "libsim/run/prices.hpp"
#include "libsim/scenario/coefficients.hpp"
#include "libsim/scenario/document.hpp"

namespace farrowtide {

// Settings of the comparison: the defaults of the command line and Python.
struct StudySettings {
  int replications = 0;
  std::uint64_t seed = 0;
  std::string reference;             // the alternative that the others are compared with; empty: the first
  std::vector<std::string> outputs;  // headline outputs, in order; empty: the usual ones
  std::vector<std::string> parts;    // the alternatives that together are the full programme

  static StudySettings read(Section& section);
};

// Immutable and cheap to copy; functions that change something return a new scenario, checked again as a whole.
class Scenario {
 public:
  // Both throw ScenarioError with every mistake, including those of the alternatives and cases. Messages call the text
  // `source_name`. The catalogues list the policies: the built-in ones, and a user's own.
  static Scenario parse(std::string text, std::string source_name,
                        const PolicyCatalogues& catalogues = PolicyCatalogues::built_in());
  static Scenario load(const std::string& path, const PolicyCatalogues& catalogues = PolicyCatalogues::built_in());

  Scenario with_overrides(const std::vector<Override>& overrides) const;
  // With one of its alternatives, or in one of its cases; UserError if there is none of that name.
  Scenario alternative(const std::string& name) const;
  // With several at once; ScenarioError where two of them change the same key.
  Scenario together(const std::vector<std::string>& names) const;
  Scenario without_alternatives() const;  // with the settings of the file itself
  Scenario in_case(const std::string& name) const;
  Scenario with_coefficients(const Coefficients& coefficients) const;

  const std::string& title() const;
  const std::string& question() const;
  const std::string& source_name() const;
  const Document& document() const;  // the content of the file with overrides applied
  std::string hash() const;          // of the content of the file with overrides applied, 16 hex digits
  const Coefficients& coefficients() const;
  const FarmSettings& farm() const;
  const std::vector<SettingInEffect>& settings_in_effect() const;  // every key, with its default where none was given
  // The kinds of care that its policies withhold, a phrase for each; empty if none. Such a scenario is for comparison
  // only.
  std::vector<std::string> withheld_care() const;
  const StudySettings& study() const;
  const std::optional<Prices>& prices() const;
  const std::vector<Variation>& alternatives() const;  // what the user can choose
  const std::vector<Variation>& cases() const;         // what the user cannot choose

 private:
  struct Content;
  explicit Scenario(std::shared_ptr<const Content> content) : content_(std::move(content)) {}
  static Scenario read(Document document, std::string source_name, Coefficients coefficients,
                       const PolicyCatalogues& catalogues);
  Scenario read_anew(Document document) const;
  Scenario settled(const char* key, const Variation& variation) const;
  static void check_study(const Document& document, const Content& content);

  std::shared_ptr<const Content> content_;
};

// All keys of a scenario, for the reference, the editors' schema and `explain`.
Declaration scenario_declaration();

}  // namespace farrowtide
