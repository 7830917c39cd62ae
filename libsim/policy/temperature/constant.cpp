#include "libsim/policy/temperature/constant.hpp"

#include <sstream>

namespace farrowtide {

std::shared_ptr<const TemperaturePolicy> ConstantTemperature::read(Section& section) {
  auto policy = std::make_shared<ConstantTemperature>();
  policy->set_point_ = SetPoint::read(section, {.name = "set_point",
                                                .unit = "degC",
                                                .low = lowest_set_point_deg_c,
                                                .high = highest_set_point_deg_c,
                                                .help = "Set point for the whole stay.",
                                                .coefficient = "room.set_point.farrowing"});
  return policy;
}

std::string ConstantTemperature::describe() const {
  std::ostringstream text;
  text << shown_deg_c(set_point_.deg_c()) << " degC throughout";
  return text.str();
}

}  // namespace farrowtide
