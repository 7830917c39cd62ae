#include "libsim/policy/care/watch_only.hpp"

namespace farrowtide {

std::shared_ptr<const CarePolicy> WatchOnly::read(Section& section) {
  auto policy = std::make_shared<WatchOnly>();
  policy->read_checks(section, TemperatureCheck::if_chosen);
  return policy;
}

}  // namespace farrowtide
