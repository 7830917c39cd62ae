// The section `farm`: how many rooms, and how often a group of sows comes into them.
#pragma once

#include <optional>

#include "libsim/scenario/section.hpp"

namespace farrowtide {

// The rooms of the farm and the groups that pass through them. What counts is the time after the rooms have filled and
// before they empty.
struct BatchSchedule {
  int rooms = 1;
  int rooms_per_group = 1;
  int groups = 1;  // that count
  int group_every_days = 7;
  std::optional<int> warm_up_groups;

  // Groups that fill the rooms before those that count, and keep them filled until the last of these has left.
  int lead_in_groups(int last_day_of_room) const;
  int lead_out_groups(int last_day_of_room) const;
  int groups_in_all(int last_day_of_room) const;
  static BatchSchedule read(Section& section);
};

}  // namespace farrowtide
