#include "libsim/model/settings/group.hpp"

namespace farrowtide {
namespace {

// The milk curve is published for 18 to 30 d; a shorter lactation follows the first days of its shortest one.
constexpr int shortest_lactation_d = 10, longest_lactation_d = 35;

}  // namespace

GroupSettings GroupSettings::read(Section& section) {
  GroupSettings group;
  group.lactation_days =
      section.integer({.name = "lactation_days",
                       .low = shortest_lactation_d,
                       .high = longest_lactation_d,
                       .help = "Days from the mean due date to weaning. Local law sets the minimum weaning age.",
                       .coefficient = "sow.herd.lactation_length"});
  group.weaning = section.choice<WeaningRule>(
      {.name = "weaning",
       .default_value = "group_together",
       .help = "Whether the whole group is weaned on one day, or each sow after her own lactation."});
  return group;
}

}  // namespace farrowtide
