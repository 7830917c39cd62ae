// Treatment after a number of different signs.
#pragma once

#include <memory>

#include "libsim/policy/care/checked_sows.hpp"

namespace farrowtide {

class TreatBySigns final : public CheckedSows {
 public:
  static std::shared_ptr<const CarePolicy> read(Section& section);
  bool treat(const CareView& view) const override;
  bool treats() const override { return treats_; }
  std::string describe() const override;

 private:
  int signs_to_treat_ = 0;
  bool treats_ = true;
};

}  // namespace farrowtide
