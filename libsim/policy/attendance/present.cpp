#include "libsim/policy/attendance/present.hpp"

namespace farrowtide {

std::shared_ptr<const AttendancePolicy> PresentAtBirths::read(Section& section) {
  auto policy = std::make_shared<PresentAtBirths>();
  policy->read_rounds(section, "staff.practice.round_every");
  return policy;
}

std::string PresentAtBirths::describe() const {
  return "somebody stays with the sows in labour while nothing else waits; " + describe_rounds();
}

}  // namespace farrowtide
