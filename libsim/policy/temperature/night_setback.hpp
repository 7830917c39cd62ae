// The falling set point, lowered at night once the litters are old enough.
#pragma once

#include <memory>

#include "libsim/policy/temperature/falling_set_point.hpp"

namespace farrowtide {

class NightSetback final : public TemperaturePolicy {
 public:
  static std::shared_ptr<const TemperaturePolicy> read(Section& section);
  double set_point_deg_c(const TemperatureView& view) const override;
  std::string describe() const override;

 private:
  bool is_night(int hour) const;

  FallingSetPoint fall_;
  double setback_k_ = 0;
  int from_day_ = 0, from_hour_ = 0, until_hour_ = 0;  // the hours may span midnight
};

}  // namespace farrowtide
