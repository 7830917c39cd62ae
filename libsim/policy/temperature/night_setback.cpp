#include "libsim/policy/temperature/night_setback.hpp"

#include <sstream>

namespace farrowtide {

std::shared_ptr<const TemperaturePolicy> NightSetback::read(Section& section) {
  auto policy = std::make_shared<NightSetback>();
  policy->fall_ = FallingSetPoint::read(section);
  policy->setback_k_ = section.number({.name = "setback",
                                       .unit = "K",
                                       .low = 0,
                                       .high = 8,
                                       .help = "Reduction of the set point at night. Only where the creep stays warm; "
                                               "heat lamps are a fire and burn hazard.",
                                       .coefficient = "room.set_point.setback"});
  policy->from_day_ = section.integer({.name = "setback_from_day",
                                       .low = 0,
                                       .high = 28,
                                       .help = "Days after the group's mean due date from which nights are cooler; a "
                                               "litter born late is younger than its group.",
                                       .coefficient = "room.set_point.setback_from_day"});
  policy->from_hour_ = section.integer({.name = "from_hour",
                                        .low = 0,
                                        .high = 23,
                                        .help = "Clock hour at which the setback begins.",
                                        .coefficient = "room.set_point.setback_from_hour"});
  policy->until_hour_ = section.integer({.name = "until_hour",
                                         .low = 0,
                                         .high = 23,
                                         .help = "Clock hour at which the setback ends, before or after midnight.",
                                         .coefficient = "room.set_point.setback_until_hour"});
  if (policy->from_hour_ == policy->until_hour_ && !section.describing())
    section.refuse("until_hour", "must differ from from_hour");
  if (policy->fall_.lowest_deg_c() - policy->setback_k_ < lowest_set_point_deg_c && !section.describing())
    section.refuse("setback", "lowers the set point below the minimum for a farrowing room", "a smaller setback");
  return policy;
}

bool NightSetback::is_night(int hour) const {
  const bool begun = hour >= from_hour_, ended = hour >= until_hour_;
  return from_hour_ < until_hour_ ? begun && !ended : begun || !ended;
}

double NightSetback::set_point_deg_c(const TemperatureView& view) const {
  const bool lowered = view.group_day >= from_day_ && is_night(view.hour);
  return fall_.deg_c(view) - (lowered ? setback_k_ : 0);
}

std::string NightSetback::describe() const {
  std::ostringstream text;
  text << fall_.describe() << "; from day " << from_day_ << " on, " << setback_k_ << " K less from " << from_hour_
       << ":00 to " << until_hour_ << ":00";
  return text.str();
}

}  // namespace farrowtide
