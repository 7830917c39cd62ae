#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "libsim/kernel/time.hpp"
#include "libsim/model/sow/appetite.hpp"
#include "libsim/model/sow/meals.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Trough capacity and how long feed in it stays edible.
struct TroughRules {
  std::int64_t capacity_g;       ///< upper limit when feed is delivered by hand
  Duration fit_for;              ///< from delivery
  Duration fit_for_wet_and_hot;  ///< from the time it got wet in a hot room
  double wet_and_hot_above_deg_c;

  static TroughRules standard(const Coefficients& coefficients);
};

/// Feed in front of one sow, in whole grams, oldest eaten first. Under full access feed is offered as she takes it and
/// does not age. While any lot in the trough is spoiled she refuses the feed until the trough is cleaned.
/// Feed that does not fit is not delivered, and counted.
/// Equation:
///   into_trough [kg] = min(feed, capacity - in_trough)
///   undelivered [kg] = feed - into_trough
///   fit_until [h] = delivered + fit_for; min(fit_until, wetted + fit_for_wet_and_hot) if T > wet_and_hot_above
///   edible [kg] = 0 if 'any lot is past' fit_until, else in_trough
/// Where: capacity [kg] of TroughRules; fit_for, fit_for_wet_and_hot [h] of TroughRules; wet_and_hot_above [degC] of
///   TroughRules; feed [kg] delivered by hand; in_trough [kg] feed in the trough; delivered, wetted [h] times of
///   delivery and of wetting; T [degC] room temperature
/// Valid: feed delivered by hand
/// Source: capacity is equipment: bowls of 3.2 kg (Beltranena 2024) to troughs of 8 kg; how long feed stays edible
/// assumed
class Trough {
 public:
  explicit Trough(const TroughRules& rules) : rules_(rules) {}

  void set_access(FeedAccess access) { access_ = access; }
  FeedAccess access() const { return access_; }

  /// Delivers feed and returns the grams that went in: a hand-fed trough takes no more than its capacity, and the rest
  /// is counted as undelivered.
  std::int64_t deliver(Time now, std::int64_t feed_g, FeedForm form, double room_deg_c);
  /// Wets the feed in the trough; in a hot room this shortens the time it stays edible.
  void wet(Time now, double room_deg_c);
  /// Feed available to her now: 0 while the trough holds spoiled feed.
  std::int64_t edible_g(Time now) const;
  /// Removes the feed of a meal, oldest lot first.
  void take(Time now, const Meal& meal);
  /// Empties the trough and returns the grams removed.
  std::int64_t clean();

  bool holds_spoiled_feed(Time now) const;
  /// When the first lot in the trough spoils; nullopt if there is none.
  std::optional<Time> spoils_at() const;
  bool empty() const { return lots_.empty(); }

  std::int64_t in_trough_g() const;
  std::int64_t offered_g() const { return offered_g_; }
  /// Feed meant for her that did not fit into the trough; no part of offered.
  std::int64_t undelivered_g() const { return undelivered_g_; }
  std::int64_t eaten_g() const { return eaten_g_; }
  std::int64_t wasted_g() const { return wasted_g_; }
  std::int64_t removed_g() const { return removed_g_; }
  /// Offered minus eaten, wasted, removed and still in the trough: always 0.
  std::int64_t unaccounted_g() const { return offered_g_ - eaten_g_ - wasted_g_ - removed_g_ - in_trough_g(); }

 private:
  struct Lot {
    std::int64_t feed_g;
    Time fit_until;
    bool wet;
  };
  void wet(Lot& lot, Time now, double room_deg_c) const;

  TroughRules rules_;
  FeedAccess access_ = FeedAccess::by_hand;
  std::vector<Lot> lots_;  ///< oldest first
  std::int64_t offered_g_ = 0, undelivered_g_ = 0, eaten_g_ = 0, wasted_g_ = 0, removed_g_ = 0;
};

}  // namespace farrowtide
