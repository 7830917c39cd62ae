// Free teats are filled and litter sizes evened out.
#pragma once

#include "libsim/policy/fostering/moving.hpp"

namespace farrowtide {

class FillAndEqualise final : public MovingPiglets {
 public:
  explicit FillAndEqualise(Section& section) : MovingPiglets(section) {}
  static std::shared_ptr<const FosteringPolicy> read(Section& section) {
    return std::make_shared<FillAndEqualise>(section);
  }

 private:
  PlannedMoves planned(const FosteringView& view, const FosteringRule& rule) const override {
    return plan_filling(view, rule, costs_);
  }
  std::string aim() const override { return "surplus piglets moved to free teats, litters evened out"; }
};

}  // namespace farrowtide
