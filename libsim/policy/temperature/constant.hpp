// One set point for the whole stay.
#pragma once

#include <memory>

#include "libsim/policy/temperature/set_point.hpp"

namespace farrowtide {

class ConstantTemperature final : public TemperaturePolicy {
 public:
  static std::shared_ptr<const TemperaturePolicy> read(Section& section);
  double set_point_deg_c(const TemperatureView& view) const override { return set_point_.deg_c(view.deep_pit); }
  std::string describe() const override;

 private:
  SetPoint set_point_;
};

}  // namespace farrowtide
