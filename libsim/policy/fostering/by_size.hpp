// Light piglets grouped on sows that suit them, heavy ones on others.
#pragma once

#include "libsim/policy/fostering/moving.hpp"

namespace farrowtide {

class SortBySize final : public MovingPiglets {
 public:
  explicit SortBySize(Section& section) : MovingPiglets(section) {}
  static std::shared_ptr<const FosteringPolicy> read(Section& section) { return std::make_shared<SortBySize>(section); }

 private:
  PlannedMoves planned(const FosteringView& view, const FosteringRule& rule) const override {
    return plan_sorting(view, rule, costs_);
  }
  std::string aim() const override { return "piglets sorted by size between sows"; }
};

}  // namespace farrowtide
