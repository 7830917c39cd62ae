#include "libsim/policy/feeding/drops.hpp"

namespace farrowtide {

std::shared_ptr<const FeedingPolicy> MachineDrops::read(Section& section) {
  auto policy = std::make_shared<MachineDrops>();
  policy->read_portions(section, {.name = "times",
                                  .min_items = 1,
                                  .max_items = 12,
                                  .default_value = std::vector<std::string>{"08:00", "12:00", "16:00", "20:00"},
                                  .help = "Clock times of the drops once she has farrowed. More of them help only by "
                                          "what the trough holds, the hours and how fresh the feed is."});
  policy->look_at_ = section.time_of_day(
      {.name = "look",
       .default_value = "07:00",
       .help = "Clock time at which staff look once a day at every trough the machine fills, and take out what will "
               "have spoiled by the next drop. Before the first drop of the day it shows what a sow left; drops of the "
               "night that she has not come to yet count as left."});
  return policy;
}

}  // namespace farrowtide
