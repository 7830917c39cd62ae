// One set point for the whole stay.
#pragma once

#include <memory>

#include "libsim/policy/temperature/temperature.hpp"

namespace farrowtide {

class ConstantTemperature final : public TemperaturePolicy {
 public:
  static std::shared_ptr<const TemperaturePolicy> read(Section& section);
  double set_point_deg_c(const TemperatureView&) const override { return set_point_deg_c_; }
  std::string describe() const override;

 private:
  double set_point_deg_c_ = 0;
};

}  // namespace farrowtide
