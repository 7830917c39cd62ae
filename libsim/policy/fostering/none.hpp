// Every piglet stays with its dam.
#pragma once

#include <memory>

#include "libsim/policy/fostering/fostering.hpp"

namespace farrowtide {

class NoFostering final : public FosteringPolicy {
 public:
  static std::shared_ptr<const FosteringPolicy> read(Section&) { return std::make_shared<NoFostering>(); }

  std::span<const Duration> times() const override { return {}; }
  FosteringPlan plan(const FosteringView&) const override { return {}; }
  int nurse_sows() const override { return 0; }
  std::string describe() const override { return "no piglets moved between sows"; }
};

}  // namespace farrowtide
