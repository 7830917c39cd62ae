#include "libsim/policy/feeding/hand.hpp"

namespace farrowtide {

std::shared_ptr<const FeedingPolicy> HandFeeding::read(Section& section) {
  auto policy = std::make_shared<HandFeeding>();
  policy->read_portions(section, {.name = "times",
                                  .min_items = 1,
                                  .max_items = 8,
                                  .default_value = std::vector<std::string>{"07:00", "15:00"},
                                  .help = "Clock times of the feeds after farrowing."});
  return policy;
}

}  // namespace farrowtide
