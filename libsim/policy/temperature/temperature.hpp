// The temperature family: the room's set point through the group's stay. A decision only; the room may fail to hold it.
#pragma once

#include <cmath>
#include <memory>
#include <optional>
#include <span>
#include <string>

#include "libsim/policy/catalogue.hpp"

namespace farrowtide {

struct TemperatureView {
  int group_day = 0;  // 0 is the group's mean due date; negative before
  int hour = 0;       // of the day, 0-23
  bool deep_pit = false;
  std::optional<double> outdoor_mean_deg_c = {};  // of yesterday; empty on the first day
};

// The limits of what is allowed, not of what is advisable.
inline constexpr double lowest_set_point_deg_c = 10, highest_set_point_deg_c = 32;

// A temperature as descriptions give it: 23.89 for what was written as 75 degF.
inline double shown_deg_c(double deg_c) { return std::round(deg_c * 100) / 100; }

// A room set point may be lowered only where the piglets' creep stays warm; heat lamps are a fire and burn hazard.
class TemperaturePolicy {
 public:
  virtual ~TemperaturePolicy() = default;
  virtual double set_point_deg_c(const TemperatureView& view) const = 0;
  virtual std::string describe() const = 0;
};

std::span<const CatalogueEntry<TemperaturePolicy>> temperature_catalogue();

}  // namespace farrowtide
