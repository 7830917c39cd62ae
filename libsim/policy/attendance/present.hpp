// Somebody stays with the sows in labour while staff are on duty and nothing else waits; rounds go on as well.
#pragma once

#include <memory>

#include "libsim/policy/attendance/staffed_rounds.hpp"

namespace farrowtide {

class PresentAtBirths final : public StaffedRounds {
 public:
  static std::shared_ptr<const AttendancePolicy> read(Section& section);
  bool look_at(const LabourView&) const override { return true; }
  bool stays() const override { return true; }
  std::string describe() const override;
};

}  // namespace farrowtide
