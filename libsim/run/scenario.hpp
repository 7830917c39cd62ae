// A whole scenario: the farm's description, the policies, the alternatives to compare and how to study them.
#pragma once

#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "libsim/model/room_settings.hpp"
#include "libsim/scenario/coefficients.hpp"
#include "libsim/scenario/document.hpp"

namespace farrowtide {

// How the comparison is to be made; defaults for the command line and for Python.
struct StudySettings {
  int replications = 200;
  std::uint64_t seed = 1;
  std::string reference;             // name of the alternative the others are compared with
  std::vector<std::string> outputs;  // headline outputs, in order

  static StudySettings read(Section& section);
};

// A named set of overrides: an alternative (what the user chooses) or a case (what the user cannot choose).
struct Variation {
  std::string name;
  std::vector<Override> overrides;
};

// Immutable and cheap to copy; every method that changes something returns a new scenario, checked anew as a whole.
class Scenario {
 public:
  // Throws ScenarioError with every mistake. `source_name` is what messages call it; relative files are sought beside it.
  static Scenario parse(std::string text, std::string source_name);
  static Scenario load(const std::string& path);

  Scenario with_overrides(const std::vector<Override>& overrides) const;
  Scenario with_coefficients(const Coefficients& coefficients) const;

  const std::string& title() const;
  const std::string& question() const;
  const std::string& source_name() const;
  const std::string& text() const;  // as read, for the provenance
  std::string hash() const;         // of the text and the overrides, hex
  const Coefficients& coefficients() const;
  const RoomSettings& room() const;
  const StudySettings& study() const;
  const std::vector<Variation>& alternatives() const;
  const std::vector<Variation>& cases() const;

 private:
  struct Content;
  explicit Scenario(std::shared_ptr<const Content> content) : content_(std::move(content)) {}
  std::shared_ptr<const Content> content_;
};

// The declarations of every key, for the reference, the editors' schema and `explain`.
std::vector<Declaration> scenario_declarations();

}  // namespace farrowtide
