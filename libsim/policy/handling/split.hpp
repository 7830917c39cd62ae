// A litter's processing in equal parts, on several days.
#pragma once

#include <memory>

#include "libsim/policy/handling/processing_days.hpp"

namespace farrowtide {

class SplitHandling final : public HandlingPolicy {
 public:
  static std::shared_ptr<const HandlingPolicy> read(Section& section);

  double share_of_processing(const HandlingView& view) const override { return days_.share_of_processing(view); }
  std::string describe() const override;

 private:
  ProcessingDays days_;
};

}  // namespace farrowtide
