// Shared by all policies with rounds: how often, when a sow is helped, and how newborn piglets are cared for.
#pragma once

#include <string>

#include "libsim/policy/attendance/attendance.hpp"

namespace farrowtide {

class StaffedRounds : public AttendancePolicy {
 public:
  std::optional<Duration> round_every() const override { return every_; }
  bool help(const LabourView& view) const override;
  int night_people() const override { return night_people_; }
  double care_intensity() const override { return care_intensity_; }

 protected:
  // `usual_every` is the coefficient of the default time between rounds.
  void read_rounds(Section& section, const char* usual_every);
  std::string describe_rounds() const;

 private:
  Duration every_;
  double help_after_min_ = 0, help_again_after_min_ = 0;  // since the last birth
  int night_people_ = 0;
  double care_intensity_ = 0;
};

}  // namespace farrowtide
