// Feed dropped by a machine at clock times, without staff, who check the troughs once a day.
#pragma once

#include <memory>

#include "libsim/policy/feeding/portions.hpp"

namespace farrowtide {

class MachineDrops final : public PortionFeeding {
 public:
  static std::shared_ptr<const FeedingPolicy> read(Section& section);
  bool dropped_by_machine() const override { return true; }
  std::optional<Duration> machine_look_at() const override { return look_at_; }
  std::string describe() const override { return "dropped by machine " + describe_portions(); }

 private:
  Duration look_at_;
};

}  // namespace farrowtide
