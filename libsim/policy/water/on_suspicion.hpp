// All drinkers once, on the morning after loading; from then on only that of a sow that does not eat or drink.
#pragma once

#include <memory>

#include "libsim/policy/water/flow_limit.hpp"

namespace farrowtide {

class DrinkersOnSuspicion final : public WaterPolicy {
 public:
  static std::shared_ptr<const WaterPolicy> read(Section& section);
  bool check(const DrinkerView& view) const override { return view.sow_flagged || view.day == first_morning; }
  double action_limit_l_per_min() const override { return limit_.l_per_min(); }
  std::string describe() const override;

 private:
  static constexpr int first_morning = 1;  // of the group; day 0 is loading
  FlowLimit limit_;
};

}  // namespace farrowtide
