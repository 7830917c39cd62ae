#include "libsim/model/sow/trough.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "libsim/kernel/errors.hpp"

namespace farrowtide {

TroughRules TroughRules::standard(const Coefficients& coefficients) {
  const auto trough = coefficients.group("sow.trough");
  return {.capacity_g = std::llround(trough.number("capacity", "kg") * 1000),
          .fit_for = Duration::from_hours(trough.number("fit_for", "h")),
          .fit_for_wet_and_hot = Duration::from_hours(trough.number("fit_for_wet_and_hot", "h")),
          .wet_and_hot_above_deg_c = trough.number("wet_and_hot_above", "degC")};
}

std::int64_t Trough::deliver(Time now, std::int64_t feed_g, FeedForm form, double room_deg_c) {
  if (access_ == FeedAccess::full) throw InternalError("a full-access feeder fills itself; nothing is delivered to it");
  const std::int64_t room_g = std::max<std::int64_t>(0, rules_.capacity_g - in_trough_g());
  const std::int64_t goes_in_g = std::clamp<std::int64_t>(feed_g, 0, room_g);
  undelivered_g_ += std::max<std::int64_t>(0, feed_g) - goes_in_g;
  if (goes_in_g == 0) return 0;
  lots_.push_back({.feed_g = goes_in_g, .fit_until = now + rules_.fit_for, .wet = false});
  offered_g_ += goes_in_g;
  // Water added to feed in the trough shortens its life in a hot room; liquid feed is delivered fresh.
  if (form == FeedForm::with_water) wet(lots_.back(), now, room_deg_c);
  return goes_in_g;
}

void Trough::wet(Time now, double room_deg_c) {
  for (Lot& lot : lots_) wet(lot, now, room_deg_c);
}

void Trough::wet(Lot& lot, Time now, double room_deg_c) const {
  if (std::exchange(lot.wet, true) || room_deg_c <= rules_.wet_and_hot_above_deg_c) return;
  lot.fit_until = std::min(lot.fit_until, now + rules_.fit_for_wet_and_hot);
}

std::int64_t Trough::edible_g(Time now) const {
  if (holds_spoiled_feed(now)) return 0;
  return access_ == FeedAccess::full ? std::numeric_limits<std::int64_t>::max() : in_trough_g();
}

void Trough::take(Time now, const Meal& meal) {
  if (meal.drawn_g < 0 || meal.drawn_g != meal.eaten_g + meal.wasted_g || meal.drawn_g > edible_g(now))
    throw InternalError("a meal must come from edible feed and be eaten or wasted");
  std::int64_t left_g = meal.drawn_g;
  while (left_g > 0 && !lots_.empty()) {
    const std::int64_t part_g = std::min(left_g, lots_.front().feed_g);
    lots_.front().feed_g -= part_g;
    left_g -= part_g;
    if (lots_.front().feed_g == 0) lots_.erase(lots_.begin());
  }
  offered_g_ += left_g;  // under full access the hopper supplies what the trough did not hold
  eaten_g_ += meal.eaten_g;
  wasted_g_ += meal.wasted_g;
}

std::int64_t Trough::clean() {
  const std::int64_t out_g = in_trough_g();
  lots_.clear();
  removed_g_ += out_g;
  return out_g;
}

bool Trough::holds_spoiled_feed(Time now) const {
  const auto first = spoils_at();
  return first && *first <= now;
}

std::optional<Time> Trough::spoils_at() const {
  const auto first = std::min_element(lots_.begin(), lots_.end(),
                                      [](const Lot& a, const Lot& b) { return a.fit_until < b.fit_until; });
  return first == lots_.end() ? std::nullopt : std::optional{first->fit_until};
}

std::int64_t Trough::in_trough_g() const {
  std::int64_t total_g = 0;
  for (const Lot& lot : lots_) total_g += lot.feed_g;
  return total_g;
}

}  // namespace farrowtide
