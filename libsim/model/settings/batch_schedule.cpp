#include "libsim/model/settings/batch_schedule.hpp"

namespace farrowtide {

BatchSchedule BatchSchedule::read(Section& section) {
  BatchSchedule schedule;
  schedule.groups =
      section.integer({.name = "groups",
                       .low = 1,
                       .high = 1000,
                       .default_value = 1,
                       .help = "Farrowing groups that count, one after the other; 52 a year of weekly groups."});
  schedule.group_every_days =
      section.integer({.name = "group_every",
                       .low = 1,
                       .high = 60,
                       .default_value = 7,
                       .help = "Days between the loading of two groups: 7 weekly, 14 two-weekly."});
  schedule.rooms_per_group = section.integer(
      {.name = "rooms_per_group", .low = 1, .high = 50, .default_value = 1, .help = "Rooms that one group fills."});
  schedule.rooms =
      section.integer({.name = "rooms",
                       .low = 1,
                       .high = 500,
                       .default_value = 1,
                       .help = "Rooms of the farm, all alike; each is emptied, washed and dried before the next "
                               "group comes into it."});
  schedule.warm_up_groups = section.optional_integer(
      {.name = "warm_up_groups",
       .low = 0,
       .high = 100,
       .help =
           "Groups that come before those that count; if left out, as many as fill the rooms once, because the farm "
           "starts empty."});
  return schedule;
}

int BatchSchedule::lead_in_groups(int last_day_of_room) const {
  return warm_up_groups.value_or(lead_out_groups(last_day_of_room));
}

int BatchSchedule::lead_out_groups(int last_day_of_room) const {
  return groups == 1 ? 0 : last_day_of_room / group_every_days + 1;
}

int BatchSchedule::groups_in_all(int last_day_of_room) const {
  return lead_in_groups(last_day_of_room) + groups + lead_out_groups(last_day_of_room);
}

}  // namespace farrowtide
