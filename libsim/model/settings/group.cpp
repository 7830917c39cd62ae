#include "libsim/model/settings/group.hpp"

namespace farrowtide {
namespace {

// The range of lactations the equations support.
constexpr int shortest_lactation_d = 17, longest_lactation_d = 35;

}  // namespace

GroupSettings GroupSettings::read(Section& section) {
  GroupSettings group;
  group.lactation_days =
      section.integer({.name = "lactation_days",
                       .low = shortest_lactation_d,
                       .high = longest_lactation_d,
                       .help = "Days from the mean due date to weaning. Local law sets the least age at weaning.",
                       .coefficient = "sow.herd.lactation_length"});
  group.weaning = section.choice<WeaningRule>(
      {.name = "weaning",
       .default_value = "group_together",
       .help = "Whether the group is weaned on one day, or each sow after her own lactation."});
  return group;
}

}  // namespace farrowtide
