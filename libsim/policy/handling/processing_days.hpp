// A litter's processing on one day, or in equal parts on several.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "libsim/policy/handling/handling.hpp"
#include "libsim/scenario/section.hpp"

namespace farrowtide {

class ProcessingDays final : public HandlingPolicy {
 public:
  static std::shared_ptr<const HandlingPolicy> read_one(Section& section);
  static std::shared_ptr<const HandlingPolicy> read_several(Section& section);

  ProcessingDays(std::vector<int> days, const Coefficients& coefficients);  // of lactation, increasing

  double share_of_processing(const HandlingView& view) const override;
  std::string describe() const override;  // "litters processed on days 2, 9, late from day 7 on"

 private:
  std::vector<int> days_;
  int late_from_day_;
};

}  // namespace farrowtide
