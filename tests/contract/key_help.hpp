// What users read about a key, to check that cautions stand where they belong.
#pragma once

#include <list>
#include <string>

#include "libsim/scenario/declaration.hpp"

namespace farrowtide {

// The help of a key anywhere below, joined over the policies that have it.
inline std::string help_of(const std::list<Declaration>& keys, const std::string& name) {
  std::string help;
  for (const Declaration& key : keys) {
    if (key.name == name) help += key.help;
    help += help_of(key.keys, name);
    for (const auto& variant : key.variants) help += help_of(variant.keys, name);
  }
  return help;
}

}  // namespace farrowtide
