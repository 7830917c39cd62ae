#include "libsim/policy/care/by_temperature.hpp"

#include <sstream>

namespace farrowtide {

std::shared_ptr<const CarePolicy> TreatByTemperature::read(Section& section) {
  auto policy = std::make_shared<TreatByTemperature>();
  policy->read_checks(section, TemperatureCheck::always);
  return policy;
}

// A sign found later is not a new reading.
bool TreatByTemperature::treat(const CareView& view) const {
  const bool just_taken = view.just_found.value_or(Sign::temperature) == Sign::temperature;
  return just_taken && view.rectal_deg_c && *view.rectal_deg_c >= *alarm_deg_c() && !treated_within_a_day(view);
}

std::string TreatByTemperature::describe() const {
  std::ostringstream text;
  text << describe_checks() << "; treated at " << *alarm_deg_c() << " degC or more";
  return text.str();
}

}  // namespace farrowtide
