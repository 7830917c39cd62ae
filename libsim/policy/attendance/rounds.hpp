// Rounds that go to every sow in labour.
#pragma once

#include <memory>

#include "libsim/policy/attendance/staffed_rounds.hpp"

namespace farrowtide {

class FarrowingRounds final : public StaffedRounds {
 public:
  static std::shared_ptr<const AttendancePolicy> read(Section& section);
  bool look_at(const LabourView&) const override { return true; }
  std::string describe() const override { return describe_rounds(); }
};

}  // namespace farrowtide
