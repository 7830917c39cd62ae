// Feed by hand, a number of times a day at clock times.
#pragma once

#include <memory>

#include "libsim/policy/feeding/allowance.hpp"
#include "libsim/policy/feeding/feeding.hpp"

namespace farrowtide {

class HandFeeding final : public FeedingPolicy {
 public:
  static std::shared_ptr<const FeedingPolicy> read(Section& section);

  std::span<const Duration> rounds() const override { return rounds_; }
  std::span<const Duration> pre_farrow_rounds() const override { return pre_farrow_.rounds; }
  std::optional<FeedingDecision> decide(const FeedingView& view) const override;
  bool wet() const override { return water_added_; }
  std::string describe() const override;

 private:
  std::vector<Duration> rounds_;
  LactationFeeding lactation_;
  PreFarrowFeeding pre_farrow_;
  bool water_added_ = false;
};

}  // namespace farrowtide
