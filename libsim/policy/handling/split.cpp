#include "libsim/policy/handling/split.hpp"

#include <algorithm>
#include <functional>
#include <utility>

namespace farrowtide {

std::shared_ptr<const HandlingPolicy> SplitHandling::read(Section& section) {
  auto policy = std::make_shared<SplitHandling>();
  const auto& usual = section.coefficients().table("staff.practice.split_processing_days", "d");
  std::vector<int> days =
      section.wholes({.name = "days",
                      .low = 1,
                      .high = last_processing_day,
                      .least = 2,
                      .most = 4,
                      .standard = std::vector<int>(usual.begin(), usual.end()),
                      .help = std::string("Lactation days of the visits, an equal part of the work at each. Every "
                                          "visit catches and disturbs the litter anew.") +
                              processing_caution});
  if (std::ranges::adjacent_find(days, std::greater_equal<>()) != days.end() && !section.describing()) {
    section.refuse("days", "is not in order", "each day later than the one before");
    std::ranges::sort(days);
  }
  policy->days_ = ProcessingDays(std::move(days), section.coefficients());
  return policy;
}

std::string SplitHandling::describe() const { return "processing of litters split over " + days_.describe(); }

}  // namespace farrowtide
