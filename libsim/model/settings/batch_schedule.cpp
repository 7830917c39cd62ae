#include "libsim/model/settings/batch_schedule.hpp"

namespace farrowtide {

BatchSchedule BatchSchedule::read(Section& section) {
  BatchSchedule schedule;
  schedule.groups =
      section.integer({.name = "groups",
                       .low = 1,
                       .high = 1000,
                       .default_value = 1,
                       .help = "Number of farrowing groups in the results; 52 make a year of weekly groups."});
  schedule.group_every_days = section.integer(
      {.name = "group_every",
       .low = 1,
       .high = 60,
       .default_value = 7,
       .help = "Days between the loading of successive groups: 7 for weekly, 14 for two-weekly batches."});
  schedule.rooms_per_group = section.integer({.name = "rooms_per_group",
                                              .low = 1,
                                              .high = 50,
                                              .default_value = 1,
                                              .help = "Number of rooms that a group occupies."});
  schedule.rooms =
      section.integer({.name = "rooms",
                       .low = 1,
                       .high = 500,
                       .default_value = 1,
                       .help = "Number of identical rooms on the farm; each is emptied, washed and dried before the "
                               "next group is loaded."});
  schedule.warm_up_groups = section.optional_integer(
      {.name = "warm_up_groups",
       .low = 0,
       .high = 100,
       .help =
           "Warm-up groups before those in the results; by default, enough to fill the rooms once, because the farm "
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
