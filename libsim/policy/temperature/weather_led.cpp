#include "libsim/policy/temperature/weather_led.hpp"

#include <algorithm>
#include <sstream>

namespace farrowtide {

std::shared_ptr<const TemperaturePolicy> WeatherLed::read(Section& section) {
  auto policy = std::make_shared<WeatherLed>();
  policy->fall_ = FallingSetPoint::read(section);
  policy->above_deg_c_ =
      section.number({.name = "above",
                      .unit = "degC",
                      .low = 0,
                      .high = 40,
                      .help = "Mean outdoor temperature of the day before, above which the set point is lowered.",
                      .coefficient = "room.set_point.weather_above"});
  policy->per_degree_k_per_k_ =
      section.number({.name = "per_degree",
                      .unit = "K/K",
                      .low = 0,
                      .high = 2,
                      .help = "Reduction of the set point per degree outdoors above that, from the day on which the "
                              "fall begins. Only where the creep stays warm.",
                      .coefficient = "room.set_point.weather_per_degree"});
  policy->min_ = SetPoint::read(section, {.name = "min",
                                          .unit = "degC",
                                          .low = lowest_set_point_deg_c,
                                          .high = highest_set_point_deg_c,
                                          .help = "Minimum to which the weather lowers the set point.",
                                          .coefficient = "room.set_point.weather_least",
                                          .aliases = {"least"}});
  return policy;
}

double WeatherLed::set_point_deg_c(const TemperatureView& view) const {
  const double usual_deg_c = fall_.deg_c(view);
  if (!view.outdoor_mean_deg_c || !fall_.has_begun_to_fall(view.group_day)) return usual_deg_c;
  const double asked_k = per_degree_k_per_k_ * std::max(0.0, *view.outdoor_mean_deg_c - above_deg_c_);
  return usual_deg_c - std::min(asked_k, std::max(0.0, usual_deg_c - min_.deg_c(view.deep_pit)));
}

std::string WeatherLed::describe() const {
  std::ostringstream text;
  text << fall_.describe() << "; " << per_degree_k_per_k_ << " degrees less for each degree above "
       << shown_deg_c(above_deg_c_) << " degC outdoors, not below " << shown_deg_c(min_.deg_c()) << " degC";
  return text.str();
}

}  // namespace farrowtide
