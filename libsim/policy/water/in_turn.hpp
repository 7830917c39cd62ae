// A share of the drinkers every morning, so that each is checked once in `every` days.
#pragma once

#include <memory>

#include "libsim/policy/water/flow_limit.hpp"

namespace farrowtide {

class DrinkersInTurn final : public WaterPolicy {
 public:
  static std::shared_ptr<const WaterPolicy> read(Section& section);
  bool check(const DrinkerView& view) const override { return view.crate % every_days_ == view.day % every_days_; }
  double action_limit_l_per_min() const override { return limit_.l_per_min(); }
  std::string describe() const override;

 private:
  int every_days_ = 1;
  FlowLimit limit_;
};

}  // namespace farrowtide
