// Feed by hand, a number of times a day at clock times.
#pragma once

#include <memory>

#include "libsim/policy/feeding/portions.hpp"

namespace farrowtide {

class HandFeeding final : public PortionFeeding {
 public:
  static std::shared_ptr<const FeedingPolicy> read(Section& section);
  std::string describe() const override { return "fed by hand " + describe_portions(); }
};

}  // namespace farrowtide
