#include "libsim/model/sow/trough.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "libsim/kernel/errors.hpp"

namespace farrowtide {

TroughRules TroughRules::standard(const Coefficients& coefficients) {
  const auto trough = coefficients.group("sow.trough");
  return {.capacity_g = std::llround(trough.number("capacity", "kg") * 1000),
          .fit_for_h = trough.number("fit_for", "h"),
          .reference_deg_c = trough.number("reference_temperature", "degC"),
          .dry_faster_per_k = trough.number("dry_faster_per_k", "1/K"),
          .wet_faster_per_k = trough.number("wet_faster_per_k", "1/K"),
          .least_accepted = trough.number("least_accepted", "-"),
          .pan_fouled_share = trough.number("pan_fouled_share", "-")};
}

std::int64_t Trough::deliver(Time now, std::int64_t feed_g, FeedForm form, double room_deg_c) {
  if (access_ == FeedAccess::full) throw InternalError("a full-access feeder fills itself; nothing is delivered to it");
  feel(now, room_deg_c);
  const std::int64_t room_g = std::max<std::int64_t>(0, rules_.capacity_g - in_trough_g());
  const std::int64_t goes_in_g = std::clamp<std::int64_t>(feed_g, 0, room_g);
  undelivered_g_ += std::max<std::int64_t>(0, feed_g) - goes_in_g;
  if (goes_in_g == 0) return 0;
  lots_.push_back({.feed_g = goes_in_g, .wet = form == FeedForm::with_water, .age = 0});
  offered_g_ += goes_in_g;
  return goes_in_g;
}

void Trough::feel(Time now, double room_deg_c) {
  for (Lot& lot : lots_) lot.age = age(lot, now);
  aged_at_ = now;
  room_deg_c_ = room_deg_c;
}

double Trough::hours_to_age(bool wet) const {
  const double faster_per_k = wet ? rules_.wet_faster_per_k : rules_.dry_faster_per_k;
  return rules_.fit_for_h * std::exp(-faster_per_k * (room_deg_c_ - rules_.reference_deg_c));
}

double Trough::age(const Lot& lot, Time now) const {
  return lot.age + (now - aged_at_).hours() / hours_to_age(lot.wet);
}

double Trough::acceptance(const Lot& lot, Time now) const {
  const double lot_age = age(lot, now);
  return lot_age <= 1 ? 1 : std::max(rules_.least_accepted, std::exp2(1 - lot_age));
}

std::int64_t Trough::acceptable_g(Time now, double wanted_kg, double meal_kg) const {
  if (access_ == FeedAccess::full) return std::numeric_limits<std::int64_t>::max();
  double left_kg = wanted_kg;
  std::int64_t sum_g = 0;
  for (auto freshest = lots_.rbegin(); freshest != lots_.rend() && left_kg > 0; ++freshest) {
    const Lot& lot = *freshest;
    const double accepted = acceptance(lot, now);
    const double accepted_kg = accepted == 1 ? left_kg : left_kg * std::pow(accepted, meal_kg / left_kg);
    if (accepted < 1 && accepted_kg < meal_kg) break;  // not hungry enough for feed as old as this
    const std::int64_t part_g = std::min<std::int64_t>(std::llround(accepted_kg * 1000), lot.feed_g);
    sum_g += part_g;
    left_kg -= static_cast<double>(part_g) / 1000;
    if (part_g < lot.feed_g) break;
  }
  return sum_g;
}

void Trough::take(const Meal& meal) {
  if (meal.drawn_g < 0 || meal.drawn_g != meal.eaten_g + meal.wasted_g)
    throw InternalError("the feed of a meal must be eaten or wasted");
  std::int64_t left_g = meal.drawn_g;
  while (left_g > 0 && !lots_.empty()) {
    const std::int64_t part_g = std::min(left_g, lots_.back().feed_g);
    lots_.back().feed_g -= part_g;
    left_g -= part_g;
    if (lots_.back().feed_g == 0) lots_.pop_back();
  }
  if (access_ == FeedAccess::full) {  // the hopper supplies what the trough did not hold, and some of it fouls the pan
    fouled_g_ += rules_.pan_fouled_share * static_cast<double>(left_g);
    const auto whole_g = static_cast<std::int64_t>(fouled_g_);
    fouled_g_ -= static_cast<double>(whole_g);
    in_pan_g_ += whole_g;
    offered_g_ += left_g + whole_g;
  } else if (left_g > 0) {
    throw InternalError("a meal must come from the feed in the trough");
  }
  eaten_g_ += meal.eaten_g;
  wasted_g_ += meal.wasted_g;
}

std::int64_t Trough::clean(Time now) {
  std::int64_t out_g = in_pan_g_;
  in_pan_g_ = 0;
  std::erase_if(lots_, [&](const Lot& lot) {
    const bool stale = age(lot, now) > 1;
    if (stale) out_g += lot.feed_g;
    return stale;
  });
  removed_g_ += out_g;
  return out_g;
}

bool Trough::holds_stale_feed(Time now) const {
  return std::ranges::any_of(lots_, [&](const Lot& lot) { return age(lot, now) > 1; });
}

std::int64_t Trough::in_trough_g() const {
  std::int64_t total_g = in_pan_g_;
  for (const Lot& lot : lots_) total_g += lot.feed_g;
  return total_g;
}

}  // namespace farrowtide
