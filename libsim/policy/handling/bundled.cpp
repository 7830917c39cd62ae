#include "libsim/policy/handling/bundled.hpp"

namespace farrowtide {

std::shared_ptr<const HandlingPolicy> BundledHandling::read(Section& section) {
  auto policy = std::make_shared<BundledHandling>();
  const int day =
      section.whole({.name = "day",
                     .low = 1,
                     .high = last_processing_day,
                     .help = std::string("Lactation day on which litters are processed.") + processing_caution,
                     .coefficient = "staff.practice.processing_day"});
  policy->days_ = ProcessingDays({day}, section.coefficients());
  return policy;
}

std::string BundledHandling::describe() const { return "litters processed at once on " + days_.describe(); }

}  // namespace farrowtide
