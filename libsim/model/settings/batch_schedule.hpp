// The section `farm`: the number of rooms, and how often a group of sows is loaded.
#pragma once

#include <optional>

#include "libsim/scenario/section.hpp"

namespace farrowtide {

// The rooms of the farm and the groups that pass through them. The counted period begins after the rooms have filled
// and ends before they empty.
struct BatchSchedule {
  int rooms = 1;
  int rooms_per_group = 1;
  int groups = 1;  // in the counted period
  int group_every_days = 7;
  std::optional<int> warm_up_groups;

  // Warm-up groups that fill the rooms before the counted ones, and groups that keep them full until the last counted
  // one has left.
  int lead_in_groups(int last_day_of_room) const;
  int lead_out_groups(int last_day_of_room) const;
  int groups_in_all(int last_day_of_room) const;
  static BatchSchedule read(Section& section);
};

}  // namespace farrowtide
