#include "libsim/policy/temperature/schedule.hpp"

#include <algorithm>
#include <sstream>

namespace farrowtide {

std::shared_ptr<const TemperaturePolicy> TemperatureSchedule::read(Section& section) {
  auto policy = std::make_shared<TemperatureSchedule>();
  policy->farrowing_deg_c_ = section.number({.name = "farrowing",
                                             .unit = "degC",
                                             .low = 10,
                                             .high = 32,
                                             .help = "Set point while the group farrows.",
                                             .coefficient = "room.set_point.farrowing"});
  policy->later_deg_c_ = section.number({.name = "later",
                                         .unit = "degC",
                                         .low = 10,
                                         .high = 32,
                                         .help = "Set point it falls to. Only where the creep stays warm.",
                                         .coefficient = "room.set_point.later"});
  policy->from_day_ =
      section.whole({.name = "from_day",
                     .low = 0,
                     .high = 14,
                     .standard = 2,
                     .help = "Day of the group, counted from its mean due date, on which the fall begins."});
  policy->later_by_day_ = section.whole({.name = "by_day",
                                         .low = 1,
                                         .high = 28,
                                         .help = "Day of the group by which the later set point is reached.",
                                         .coefficient = "room.set_point.later_by_day"});
  if (policy->later_by_day_ <= policy->from_day_ && !section.describing()) {
    section.refuse("by_day", "must come after from_day", "a day after " + std::to_string(policy->from_day_));
  }
  policy->deep_pit_offset_k_ = section.coefficients().number("room.pit.deep_pit_set_point_offset", "K");
  return policy;
}

double TemperatureSchedule::set_point_deg_c(const TemperatureView& view) const {
  const double fall = static_cast<double>(view.group_day - from_day_) / (later_by_day_ - from_day_);
  const double set_point_deg_c = farrowing_deg_c_ + std::clamp(fall, 0.0, 1.0) * (later_deg_c_ - farrowing_deg_c_);
  return set_point_deg_c + (view.deep_pit ? deep_pit_offset_k_ : 0);
}

std::string TemperatureSchedule::describe() const {
  std::ostringstream text;
  text << farrowing_deg_c_ << " degC at farrowing, " << later_deg_c_ << " degC by day " << later_by_day_;
  return text.str();
}

}  // namespace farrowtide
