#include "libsim/policy/feeding/drops.hpp"

namespace farrowtide {

std::shared_ptr<const FeedingPolicy> MachineDrops::read(Section& section) {
  auto policy = std::make_shared<MachineDrops>();
  policy->read_portions(section, {.name = "times",
                                  .min_items = 1,
                                  .max_items = 12,
                                  .default_value = std::vector<std::string>{"08:00", "12:00", "16:00", "20:00"},
                                  .help = "Clock times of the drops after farrowing. More drops help only through "
                                          "trough capacity, timing and freshness of the feed."});
  policy->look_at_ = section.time_of_day(
      {.name = "look",
       .default_value = "07:00",
       .help = "Clock time at which staff check, once a day, every trough filled by the machine and remove stale feed. "
               "Before the first drop of the day, the check shows what a sow has "
               "left; feed dropped at night that she has not eaten yet counts as left."});
  return policy;
}

}  // namespace farrowtide
