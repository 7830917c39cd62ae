// Feed in portions at clock times, before and after farrowing, from the cart or by machine.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "libsim/policy/feeding/allowance.hpp"
#include "libsim/policy/feeding/feeding.hpp"
#include "libsim/scenario/section.hpp"

namespace farrowtide {

// Part of the help of every key that decides how much feed a sow gets before farrowing.
inline constexpr const char* pre_farrow_caution =
    " Feed above about 3 kg/d before farrowing raises post-partum disorder and lowers appetite in the first week in "
    "fat "
    "sows, hardly in lean ones: ask the herd veterinarian.";

// How sows are fed between loading and farrowing, the same under every policy unless the scenario says otherwise.
struct PreFarrowFeeding {
  std::vector<Duration> rounds;
  double allowance_kg_per_day = 0;

  static PreFarrowFeeding read(Section& section);
  // Empty if this is not one of her rounds.
  std::optional<FeedingDecision> decide(const FeedingView& view) const;
  std::string describe() const;  // "before farrowing 2.7 kg/d in 2 feeds"
};

// A late round that fills only empty troughs, on top of the allowance.
struct NightTopUp {
  Duration round;
  double kg = 0;

  static std::optional<NightTopUp> read(Section& section);
};

enum class StaleFeed { removed_daily, never_removed };
constexpr auto names(StaleFeed) {
  using enum StaleFeed;
  return std::to_array<Name<StaleFeed>>({{removed_daily, "daily"}, {never_removed, "never"}});
}

// Portions once she has farrowed.
struct LactationFeeding {
  std::vector<Duration> rounds;  // that share the allowance
  std::vector<double> shares;    // of the rounds, adding up to 1; empty: equal
  DailyAllowance allowance;
  StaleFeed stale_feed = StaleFeed::removed_daily;
  std::optional<NightTopUp> top_up = {};

  static LactationFeeding read(Section& section, const TimesOfDay& times);
  std::optional<FeedingDecision> decide(const FeedingView& view) const;
  bool checks_troughs() const { return allowance.adjusts(); }
  std::optional<TroughDecision> at_trough_check(const TroughView& view) const;
  std::string describe() const;  // "2 times a day, 6 kg/d"
};

// The union of two timetables, in order, each time once.
std::vector<Duration> merged(std::span<const Duration> first, std::span<const Duration> second);

// Shared by feeding by hand and by machine.
class PortionFeeding : public FeedingPolicy {
 public:
  std::span<const Duration> rounds() const override { return rounds_; }
  std::span<const Duration> pre_farrow_rounds() const override { return pre_farrow_.rounds; }
  std::optional<FeedingDecision> decide(const FeedingView& view) const override;
  bool checks_troughs() const override { return lactation_.checks_troughs(); }
  std::optional<TroughDecision> at_trough_check(const TroughView& view) const override;
  bool removes_stale_feed() const override { return lactation_.stale_feed == StaleFeed::removed_daily; }
  bool wet() const override { return water_added_; }

 protected:
  void read_portions(Section& section, const TimesOfDay& times);
  std::string describe_portions() const;

 private:
  std::vector<Duration> rounds_;
  LactationFeeding lactation_;
  PreFarrowFeeding pre_farrow_;
  bool water_added_ = false;
};

}  // namespace farrowtide
