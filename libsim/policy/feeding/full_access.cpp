#include "libsim/policy/feeding/full_access.hpp"

#include <algorithm>
#include <sstream>

namespace farrowtide {

std::shared_ptr<const FeedingPolicy> FullAccess::read(Section& section) {
  auto policy = std::make_shared<FullAccess>();
  policy->from_day_ = section.integer(
      {.name = "from_day",
       .low = -4,
       .high = 35,
       .default_value = 0,
       .help = std::string("Lactation day from which feed is always available; negative: days before her due date.") +
               pre_farrow_caution});
  policy->unless_backfat_over_mm_ = section.optional_number(
      {.name = "unless_backfat_over",
       .unit = "mm",
       .low = 5,
       .high = 40,
       .help =
           "Sows with more P2 backfat at loading have no full access before they have farrowed; omitted: all have."});
  if (policy->unless_backfat_over_mm_ && policy->from_day_ >= 0)
    section.refuse("unless_backfat_over", "has an effect only if full access begins before farrowing",
                   "from_day: -3, or omit the key");
  policy->wet_ =
      section.boolean({.name = "wet", .default_value = false, .help = "The feeder gives water with the feed."});
  policy->readings_ = section.boolean(
      {.name = "readings",
       .default_value = false,
       .help = "Whether the feeder shows what each sow took; without, staff estimate it at their morning look."});
  policy->lactation_.rounds = section.times_of_day(
      {.name = "times",
       .min_items = 1,
       .max_items = 8,
       .default_value = std::vector<std::string>{"07:00"},
       .help = "Clock times at which staff check the feeders and hand-feed sows that do not have full access yet."});
  policy->lactation_.allowance =
      section.read<DailyAllowance>("allowance", "Daily feed allowance of a sow until full access begins.");
  policy->pre_farrow_ = section.read<PreFarrowFeeding>("pre_farrow", "Feeding between loading and farrowing.");
  policy->rounds_ = merged(policy->lactation_.rounds, policy->pre_farrow_.rounds);
  return policy;
}

std::span<const Duration> FullAccess::pre_farrow_rounds() const {
  if (from_day_ < 0) return {};  // she farrows with feed available, not between meals
  return pre_farrow_.rounds;
}

bool FullAccess::has_access(const FeedingView& view) const {
  const bool too_fat = unless_backfat_over_mm_ && view.backfat_mm > *unless_backfat_over_mm_;
  const bool waits_for_farrowing = (from_day_ >= 0 || too_fat) && !view.farrowed;  // an overdue sow is not yet past it
  return !waits_for_farrowing && view.day >= from_day_;
}

std::optional<FeedingDecision> FullAccess::decide(const FeedingView& view) const {
  if (has_access(view)) {
    const bool look = std::ranges::binary_search(lactation_.rounds, view.round);
    return look ? std::optional(FeedingDecision{FeedAccess::full, 0}) : std::nullopt;
  }
  return view.farrowed ? lactation_.decide(view) : pre_farrow_.decide(view);
}

std::optional<TroughDecision> FullAccess::at_trough_check(const TroughView& view) const {
  return view.day < from_day_ ? lactation_.at_trough_check(view) : std::nullopt;
}

std::string FullAccess::describe() const {
  const std::string when = from_day_ == 0  ? "farrowing"
                           : from_day_ > 0 ? "day " + std::to_string(from_day_)
                                           : std::to_string(-from_day_) + " days before the due date";
  std::ostringstream before;
  if (from_day_ >= 0) before << "; " << pre_farrow_.describe();
  if (unless_backfat_over_mm_)
    before << ", sows over " << *unless_backfat_over_mm_ << " mm of backfat from farrowing; " << pre_farrow_.describe();
  return std::string(wet_ ? "wet" : "dry") + " feed always available from " + when + before.str();
}

}  // namespace farrowtide
