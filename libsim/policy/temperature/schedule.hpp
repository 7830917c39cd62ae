// A farrowing set point that falls evenly to a later one.
#pragma once

#include <memory>

#include "libsim/policy/temperature/temperature.hpp"

namespace farrowtide {

class TemperatureSchedule final : public TemperaturePolicy {
 public:
  static std::shared_ptr<const TemperaturePolicy> read(Section& section);
  double set_point_deg_c(const TemperatureView& view) const override;
  std::string describe() const override;

 private:
  double farrowing_deg_c_ = 0, later_deg_c_ = 0, deep_pit_offset_k_ = 0;
  int from_day_ = 0, later_by_day_ = 0;
};

}  // namespace farrowtide
