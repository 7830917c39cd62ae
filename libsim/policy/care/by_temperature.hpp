// Treatment on the rectal temperature alone; other signs are recorded but have no consequence.
#pragma once

#include <memory>

#include "libsim/policy/care/checked_sows.hpp"

namespace farrowtide {

class TreatByTemperature final : public CheckedSows {
 public:
  static std::shared_ptr<const CarePolicy> read(Section& section);
  bool treat(const CareView& view) const override;
  std::string describe() const override;
};

}  // namespace farrowtide
