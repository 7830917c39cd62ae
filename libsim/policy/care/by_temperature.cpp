#include "libsim/policy/care/by_temperature.hpp"

#include <sstream>

namespace farrowtide {

std::shared_ptr<const CarePolicy> TreatByTemperature::read(Section& section) {
  auto policy = std::make_shared<TreatByTemperature>();
  policy->read_checks(section, TemperatureCheck::always);
  policy->alarm_deg_c_ = section.number(
      {.name = "alarm",
       .unit = "degC",
       .low = 38,
       .high = 42,
       .help = "A sow whose rectal temperature reaches this is treated, as prescribed by the herd veterinarian.",
       .coefficient = "sow.rectal_temperature.alarm"});
  return policy;
}

// A sign found later is not a new reading.
bool TreatByTemperature::treat(const CareView& view) const {
  const bool just_taken = view.just_found.value_or(Sign::temperature) == Sign::temperature;
  return just_taken && view.rectal_deg_c && *view.rectal_deg_c >= alarm_deg_c_ && !treated_within_a_day(view);
}

std::string TreatByTemperature::describe() const {
  std::ostringstream text;
  text << describe_checks() << "; treated at " << alarm_deg_c_ << " degC or more";
  return text.str();
}

}  // namespace farrowtide
