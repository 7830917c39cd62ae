#include "libsim/policy/handling/processing_days.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <utility>

namespace farrowtide {
namespace {

constexpr int last_day = 14;  // that is allowed

// The caution that goes with every key of this family.
constexpr const char* caution =
    " Pain relief, and what may be done at which age, are decided by the herd veterinarian and local law.";

}  // namespace

std::shared_ptr<const HandlingPolicy> ProcessingDays::read_one(Section& section) {
  const int day = section.integer({.name = "day",
                                   .low = 1,
                                   .high = last_day,
                                   .help = std::string("Lactation day on which litters are processed.") + caution,
                                   .coefficient = "staff.practice.processing_day"});
  return std::make_shared<ProcessingDays>(std::vector{day}, section.coefficients());
}

std::shared_ptr<const HandlingPolicy> ProcessingDays::read_several(Section& section) {
  const auto& usual = section.coefficients().table("staff.practice.split_processing_days", "d");
  std::vector<int> days =
      section.integers({.name = "days",
                        .low = 1,
                        .high = last_day,
                        .min_items = 2,
                        .max_items = 4,
                        .default_value = std::vector<int>(usual.begin(), usual.end()),
                        .help = std::string("Lactation days of the visits, with an equal part of the work on each. The "
                                            "litter is caught and disturbed again at every visit.") +
                                caution});
  if (std::ranges::adjacent_find(days, std::greater_equal<>()) != days.end() && !section.describing()) {
    section.refuse("days", "is not in order", "each day later than the one before");
    std::ranges::sort(days);
  }
  return std::make_shared<ProcessingDays>(std::move(days), section.coefficients());
}

ProcessingDays::ProcessingDays(std::vector<int> days, const Coefficients& coefficients)
    : days_(std::move(days)),
      late_from_day_(static_cast<int>(std::lround(coefficients.number("staff.late.processing_late_from_day", "d")))) {}

double ProcessingDays::share_of_processing(const HandlingView& view) const {
  return std::ranges::binary_search(days_, view.lactation_day) ? 1 / static_cast<double>(days_.size()) : 0;
}

std::string ProcessingDays::describe() const {
  std::string text = days_.size() == 1 ? "litters processed on day " : "processing of litters split over days ";
  for (std::size_t i = 0; i < days_.size(); ++i) text += (i > 0 ? ", " : "") + std::to_string(days_[i]);
  return days_.back() < late_from_day_ ? text : text + ", late from day " + std::to_string(late_from_day_) + " on";
}

}  // namespace farrowtide
