// Feed always available from a given day: a self-feeder that staff check and keep filled.
#pragma once

#include <memory>

#include "libsim/policy/feeding/portions.hpp"

namespace farrowtide {

class FullAccess final : public FeedingPolicy {
 public:
  static std::shared_ptr<const FeedingPolicy> read(Section& section);

  std::span<const Duration> rounds() const override { return rounds_; }
  std::span<const Duration> pre_farrow_rounds() const override;
  std::optional<FeedingDecision> decide(const FeedingView& view) const override;
  bool checks_troughs() const override { return from_day_ > 0 && lactation_.checks_troughs(); }
  std::optional<TroughDecision> at_trough_check(const TroughView& view) const override;
  bool reads_feeders() const override { return readings_; }
  bool wet() const override { return wet_; }
  std::string describe() const override;

 private:
  bool has_access(const FeedingView& view) const;

  int from_day_ = 0;
  std::optional<double> unless_backfat_over_mm_;  // fatter sows wait for farrowing
  bool wet_ = false, readings_ = false;
  std::vector<Duration> rounds_;
  LactationFeeding lactation_;  // until access begins
  PreFarrowFeeding pre_farrow_;
};

}  // namespace farrowtide
