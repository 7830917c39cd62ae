#include "libsim/policy/attendance/rounds.hpp"

namespace farrowtide {

std::shared_ptr<const AttendancePolicy> FarrowingRounds::read(Section& section) {
  auto policy = std::make_shared<FarrowingRounds>();
  policy->read_rounds(section, "staff.practice.round_every");
  return policy;
}

}  // namespace farrowtide
