// Shared by policies that move piglets: the rule they follow, and the report on piglets left over.
#pragma once

#include <memory>
#include <string>

#include "libsim/policy/fostering/plan.hpp"

namespace farrowtide {

class MovingPiglets : public FosteringPolicy {
 public:
  std::span<const Duration> times() const override { return rule_.times; }
  FosteringPlan plan(const FosteringView& view) const override;
  int nurse_sows() const override { return rule_.nurse_sows; }
  std::string describe() const override { return aim() + ": " + rule_.describe(); }

 protected:
  explicit MovingPiglets(Section& section) : costs_(section.coefficients()), rule_(FosteringRule::read(section)) {}

  FosteringCosts costs_;

 private:
  virtual PlannedMoves planned(const FosteringView& view, const FosteringRule& rule) const = 0;
  virtual std::string aim() const = 0;

  FosteringRule rule_;
};

}  // namespace farrowtide
