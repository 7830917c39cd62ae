// First-parity sows spread over the room: every task with one of them costs a walk.
#pragma once

#include <memory>

#include "libsim/policy/loading/loading_plan.hpp"

namespace farrowtide {

class GiltsSpread final : public LoadingPlan {
 public:
  static std::shared_ptr<const LoadingPolicy> read(Section& section);
  GiltPlaces gilt_places() const override { return GiltPlaces::spread; }
  std::string describe() const override { return describe_plan() + "; gilts stand spread over the room"; }
};

}  // namespace farrowtide
