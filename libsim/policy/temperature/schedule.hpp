// A farrowing set point that falls linearly to a later one.
#pragma once

#include <memory>

#include "libsim/policy/temperature/falling_set_point.hpp"

namespace farrowtide {

class TemperatureSchedule final : public TemperaturePolicy {
 public:
  static std::shared_ptr<const TemperaturePolicy> read(Section& section);
  double set_point_deg_c(const TemperatureView& view) const override { return fall_.deg_c(view); }
  std::string describe() const override { return fall_.describe(); }

 private:
  FallingSetPoint fall_;
};

}  // namespace farrowtide
