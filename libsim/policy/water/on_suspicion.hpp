// All drinkers once, on the first morning after loading when staff have time; from then on only that of a sow that does
// not eat or drink.
#pragma once

#include <memory>

#include "libsim/policy/water/flow_limit.hpp"

namespace farrowtide {

class DrinkersOnSuspicion final : public WaterPolicy {
 public:
  static std::shared_ptr<const WaterPolicy> read(Section& section);
  bool check(const DrinkerView& view) const override { return view.sow_flagged || !view.looked_at; }
  double action_limit_l_per_min() const override { return limit_.l_per_min(); }
  std::string describe() const override;

 private:
  FlowLimit limit_;
};

}  // namespace farrowtide
