// The curve on which most policies of this family are based: a farrowing set point that falls linearly to a later one.
#pragma once

#include <string>

#include "libsim/policy/temperature/set_point.hpp"

namespace farrowtide {

class FallingSetPoint {
 public:
  static FallingSetPoint read(Section& section);

  double deg_c(const TemperatureView& view) const;
  bool has_begun_to_fall(int group_day) const { return group_day > from_day_; }
  double lowest_deg_c() const;
  std::string describe() const;  // "22.8 degC at farrowing, 19.4 degC by day 8"

 private:
  SetPoint farrowing_, later_;
  int from_day_ = 0, later_by_day_ = 0;
};

}  // namespace farrowtide
