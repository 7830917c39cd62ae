#include "libsim/policy/temperature/falling_set_point.hpp"

#include <algorithm>
#include <sstream>

namespace farrowtide {

FallingSetPoint FallingSetPoint::read(Section& section) {
  FallingSetPoint fall;
  fall.farrowing_ = SetPoint::read(section, {.name = "farrowing",
                                             .unit = "degC",
                                             .low = lowest_set_point_deg_c,
                                             .high = highest_set_point_deg_c,
                                             .help = "Set point while the group farrows.",
                                             .coefficient = "room.set_point.farrowing"});
  fall.later_ = SetPoint::read(section, {.name = "later",
                                         .unit = "degC",
                                         .low = lowest_set_point_deg_c,
                                         .high = highest_set_point_deg_c,
                                         .help = "Set point after the fall. Only where the creep stays warm.",
                                         .coefficient = "room.set_point.later"});
  fall.from_day_ = section.integer({.name = "from_day",
                                    .low = 0,
                                    .high = 14,
                                    .help = "Days after the group's mean due date on which the fall begins.",
                                    .coefficient = "room.set_point.fall_from_day"});
  fall.later_by_day_ =
      section.integer({.name = "by_day",
                       .low = 1,
                       .high = 28,
                       .help = "Days after the group's mean due date by which the later set point is reached.",
                       .coefficient = "room.set_point.later_by_day"});
  if (fall.later_by_day_ <= fall.from_day_ && !section.describing()) {
    section.refuse("by_day", "must come after from_day", "a day after " + std::to_string(fall.from_day_));
  }
  return fall;
}

double FallingSetPoint::deg_c(const TemperatureView& view) const {
  const double fall = static_cast<double>(view.group_day - from_day_) / (later_by_day_ - from_day_);
  const double farrowing_deg_c = farrowing_.deg_c(view.deep_pit), later_deg_c = later_.deg_c(view.deep_pit);
  return farrowing_deg_c + std::clamp(fall, 0.0, 1.0) * (later_deg_c - farrowing_deg_c);
}

double FallingSetPoint::lowest_deg_c() const { return std::min(farrowing_.deg_c(), later_.deg_c()); }

std::string FallingSetPoint::describe() const {
  std::ostringstream text;
  text << shown_deg_c(farrowing_.deg_c()) << " degC at farrowing, " << shown_deg_c(later_.deg_c()) << " degC by day "
       << later_by_day_;
  return text.str();
}

}  // namespace farrowtide
