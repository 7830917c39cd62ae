// The days on which a litter is processed, in equal parts.
#pragma once

#include <string>
#include <vector>

#include "libsim/policy/handling/handling.hpp"
#include "libsim/scenario/section.hpp"

namespace farrowtide {

// The caution that goes with every key of this family.
inline constexpr const char* processing_caution =
    " Pain relief, and what may be done at which age, are for the herd veterinarian and local law.";

inline constexpr int last_processing_day = 14;  // that may be asked for

class ProcessingDays {
 public:
  ProcessingDays() = default;
  ProcessingDays(std::vector<int> days, const Coefficients& coefficients);  // of lactation, rising

  double share_of_processing(const HandlingView& view) const;
  // "day 3", "days 2, 9, late from day 7 on".
  std::string describe() const;

 private:
  std::vector<int> days_;
  int late_from_day_ = 0;
};

}  // namespace farrowtide
