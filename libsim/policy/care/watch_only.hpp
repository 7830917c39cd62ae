// Looks for the same signs but never treats: for comparisons only, because a sick sow needs treatment.
#pragma once

#include <memory>

#include "libsim/policy/care/checked_sows.hpp"

namespace farrowtide {

class WatchOnly final : public CheckedSows {
 public:
  static std::shared_ptr<const CarePolicy> read(Section& section);
  bool treat(const CareView&) const override { return false; }
  bool treats() const override { return false; }
  std::string describe() const override { return describe_checks() + "; none treated"; }
};

}  // namespace farrowtide
