// A policy family's catalogue: the only list of its policies, read by the scenario, the documentation and the contract
// tests.
#pragma once

#include <functional>
#include <memory>
#include <span>
#include <string>

#include "libsim/scenario/section.hpp"

namespace farrowtide {

// One policy: its name in scenarios, a sentence about it, and the function that reads its own keys.
template <class Policy>
struct CatalogueEntry {
  std::string name;
  std::string help;
  std::function<std::shared_ptr<const Policy>(Section&)> read;
};

}  // namespace farrowtide
