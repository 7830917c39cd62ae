// The falling set point, which falls sooner and further when it is warm outdoors.
#pragma once

#include <memory>

#include "libsim/policy/temperature/falling_set_point.hpp"

namespace farrowtide {

class WeatherLed final : public TemperaturePolicy {
 public:
  static std::shared_ptr<const TemperaturePolicy> read(Section& section);
  double set_point_deg_c(const TemperatureView& view) const override;
  std::string describe() const override;

 private:
  FallingSetPoint fall_;
  SetPoint min_;
  double above_deg_c_ = 0, per_degree_k_per_k_ = 0;
};

}  // namespace farrowtide
