// First-parity sows side by side: work with them needs no walk from one to the next.
#pragma once

#include <memory>

#include "libsim/policy/loading/loading_plan.hpp"

namespace farrowtide {

class GiltsTogether final : public LoadingPlan {
 public:
  static std::shared_ptr<const LoadingPolicy> read(Section& section);
  GiltPlaces gilt_places() const override { return GiltPlaces::side_by_side; }
  std::string describe() const override { return describe_plan() + "; gilts stand side by side"; }
};

}  // namespace farrowtide
