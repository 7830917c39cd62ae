// No rounds: births are not attended, and no sow is helped.
#pragma once

#include <memory>

#include "libsim/policy/attendance/attendance.hpp"

namespace farrowtide {

class Unattended final : public AttendancePolicy {
 public:
  static std::shared_ptr<const AttendancePolicy> read(Section&) { return std::make_shared<Unattended>(); }
  std::optional<Duration> round_every() const override { return std::nullopt; }
  bool look_at(const LabourView&) const override { return false; }
  bool help(const LabourView&) const override { return false; }
  int night_people() const override { return 0; }
  double care_intensity() const override { return 0; }
  std::string describe() const override { return "no farrowing rounds"; }
};

}  // namespace farrowtide
