#include "libsim/policy/loading/gilts_together.hpp"

namespace farrowtide {

std::shared_ptr<const LoadingPolicy> GiltsTogether::read(Section& section) {
  auto policy = std::make_shared<GiltsTogether>();
  policy->read_plan(section);
  return policy;
}

}  // namespace farrowtide
