#include "libsim/policy/loading/gilts_spread.hpp"

namespace farrowtide {

std::shared_ptr<const LoadingPolicy> GiltsSpread::read(Section& section) {
  auto policy = std::make_shared<GiltsSpread>();
  policy->read_plan(section);
  return policy;
}

}  // namespace farrowtide
