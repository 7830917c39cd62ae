// All drinkers are checked on the same morning, every `every` days.
#pragma once

#include <memory>

#include "libsim/policy/water/flow_limit.hpp"

namespace farrowtide {

class EveryDrinker final : public WaterPolicy {
 public:
  static std::shared_ptr<const WaterPolicy> read(Section& section);
  bool check(const DrinkerView& view) const override { return every_days_ > 0 && view.day % every_days_ == 0; }
  bool checks() const override { return every_days_ > 0; }
  double action_limit_l_per_min() const override { return limit_.l_per_min(); }
  std::string describe() const override;

 private:
  int every_days_ = 0;  // 0: never
  FlowLimit limit_;
};

}  // namespace farrowtide
