// More frequent rounds, but only to sows not seen for some time or whose next piglet is slow to come.
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
