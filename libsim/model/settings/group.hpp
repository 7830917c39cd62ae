// The section `group`: the sows that farrow together, and when they are weaned.
#pragma once

#include "libsim/scenario/section.hpp"

namespace farrowtide {

enum class WeaningRule { group_together, each_sow };
constexpr auto names(WeaningRule) {
  return std::to_array<Name<WeaningRule>>(
      {{WeaningRule::group_together, "group_together"}, {WeaningRule::each_sow, "each_sow"}});
}

struct GroupSettings {
  int lactation_days = 0;
  WeaningRule weaning = WeaningRule::group_together;

  static GroupSettings read(Section& section);
};

}  // namespace farrowtide
