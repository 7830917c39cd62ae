// A family of policies under test: reads one from the text of its keys, and runs a check over the whole catalogue.
#pragma once

#include <gtest/gtest.h>

#include <map>
#include <memory>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "libsim/policy/catalogue.hpp"
#include "libsim/scenario/document.hpp"
#include "tests/contract/key_help.hpp"

namespace farrowtide {

template <class Policy>
class PolicyFamily {
 public:
  // Settings to try of each kind, "{kind: hand}" for its default; a kind without cases fails `for_every`.
  using Cases = std::map<std::string, std::vector<std::string>>;

  PolicyFamily(std::string default_kind, std::span<const CatalogueEntry<Policy>> catalogue, Cases cases)
      : default_kind_(std::move(default_kind)), catalogue_(catalogue), cases_(std::move(cases)) {}

  std::shared_ptr<const Policy> policy(const std::string& keys) const {
    const Document document = Document::from_text("family: " + keys, "contract.yaml");
    Reading reading(document, coefficients_);
    auto read = read_from(reading);
    reading.finish();
    return read;
  }

  Declaration declared() const {
    Reading reading(coefficients_);
    read_from(reading);
    return reading.declared();
  }

  // What users read about a key, joined over the kinds that have it.
  std::string help(const std::string& key) const { return help_of(declared().keys, key); }

  template <class Check>
  void for_every(Check check) const {
    for (const auto& entry : catalogue_) {
      ASSERT_TRUE(cases_.contains(entry.name)) << "add cases for the policy '" << entry.name << "'";
      for (const std::string& keys : cases_.at(entry.name)) {
        SCOPED_TRACE(keys);
        check(*policy(keys));
      }
    }
  }

 private:
  std::shared_ptr<const Policy> read_from(Reading& reading) const {
    Section root = reading.root();
    Section section = root.section("family", "The family.");
    return section.variants({.name = "kind", .default_value = default_kind_, .help = "How."}, catalogue_);
  }

  std::string default_kind_;
  std::span<const CatalogueEntry<Policy>> catalogue_;
  Cases cases_;
  Coefficients coefficients_ = Coefficients::built_in();
};

}  // namespace farrowtide
