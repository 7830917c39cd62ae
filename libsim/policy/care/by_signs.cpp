#include "libsim/policy/care/by_signs.hpp"

namespace farrowtide {

std::shared_ptr<const CarePolicy> TreatBySigns::read(Section& section) {
  auto policy = std::make_shared<TreatBySigns>();
  policy->read_checks(section, TemperatureCheck::if_chosen);
  policy->signs_to_treat_ = section.integer({.name = "signs_to_treat",
                                             .low = 1,
                                             .high = 5,
                                             .help = "Number of different signs after which a sow is treated.",
                                             .coefficient = "staff.practice.signs_to_treat"});
  policy->treats_ =
      section.boolean({.name = "treat",
                       .default_value = true,
                       .help = "Whether sows with that many signs are treated, as prescribed by the herd veterinarian; "
                               "false is for comparisons only, because a sick sow needs treatment."});
  return policy;
}

bool TreatBySigns::treat(const CareView& view) const {
  return treats_ && view.just_found && static_cast<int>(view.seen.count()) >= signs_to_treat_ &&
         !treated_within_a_day(view);
}

std::string TreatBySigns::describe() const {
  if (!treats_) return describe_checks() + "; none treated";
  return describe_checks() + "; treated after " + std::to_string(signs_to_treat_) +
         (signs_to_treat_ == 1 ? " sign" : " different signs");
}

}  // namespace farrowtide
