#include "libsim/policy/temperature/schedule.hpp"

namespace farrowtide {

std::shared_ptr<const TemperaturePolicy> TemperatureSchedule::read(Section& section) {
  auto policy = std::make_shared<TemperatureSchedule>();
  policy->fall_ = FallingSetPoint::read(section);
  return policy;
}

}  // namespace farrowtide
