// Rounds more often, but only to sows that nobody has seen for some time or whose next piglet is long in coming.
#pragma once

#include <memory>

#include "libsim/policy/attendance/staffed_rounds.hpp"

namespace farrowtide {

class CloseWatch final : public StaffedRounds {
 public:
  static std::shared_ptr<const AttendancePolicy> read(Section& section);
  bool look_at(const LabourView& view) const override;
  std::string describe() const override;

 private:
  double look_every_min_ = 0, worry_after_min_ = 0;
};

}  // namespace farrowtide
