// Surplus piglets are moved to sows with free teats; no others are moved.
#pragma once

#include "libsim/policy/fostering/moving.hpp"

namespace farrowtide {

class FillTeats final : public MovingPiglets {
 public:
  explicit FillTeats(Section& section) : MovingPiglets(section) { costs_.equalise = 0; }
  static std::shared_ptr<const FosteringPolicy> read(Section& section) { return std::make_shared<FillTeats>(section); }

 private:
  PlannedMoves planned(const FosteringView& view, const FosteringRule& rule) const override {
    return plan_filling(view, rule, costs_);
  }
  std::string aim() const override { return "surplus piglets moved to free teats"; }
};

}  // namespace farrowtide
