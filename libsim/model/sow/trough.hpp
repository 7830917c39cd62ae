#pragma once

#include <cstdint>
#include <vector>

#include "libsim/kernel/time.hpp"
#include "libsim/model/sow/appetite.hpp"
#include "libsim/model/sow/meals.hpp"
#include "libsim/policy/feeding/feeding.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Trough capacity, and how feed in it ages.
struct TroughRules {
  std::int64_t capacity_g;  ///< upper limit when feed is delivered by hand or by machine
  double fit_for_h;         ///< from delivery, at reference_deg_c
  double reference_deg_c;
  double dry_faster_per_k, wet_faster_per_k;  ///< how much faster dry and wet feed ages in a warmer room [1/K]
  double least_accepted;                      ///< acceptance of the oldest feed
  double pan_fouled_share;                    ///< of the feed taken under full access

  static TroughRules standard(const Coefficients& coefficients);
};

/// Feed in front of one sow, in whole grams, in lots that age by themselves: fresh feed poured on a remnant stays
/// fresh. She eats the freshest first, which lies on top. Feed past its fit time is stale: she takes less of it the
/// older it is, and more the hungrier she is. Staff remove stale feed only. Feed that does not fit is not delivered,
/// and counted. Under full access feed is offered as she takes it and does not age; a small part fouls the feeder's
/// pan. Equation:
///   into_trough [kg] = min(feed, capacity - in_trough)
///   undelivered [kg] = feed - into_trough
///   age [-] = 'sum over time of' hours * exp(faster_per_k * (T - reference)) / fit_for
///   acceptance [-] = 1 if age <= 1; max(least_accepted, 2^(1 - age)) if age > 1
///   accepted [kg] = hunger * acceptance^(meal / hunger)
///   taken [kg] = min(accepted, lot) 'if fresh or accepted >= meal', else 0
///   fouled [kg] = pan_fouled_share * taken 'under full access'
/// Where: capacity [kg], fit_for [h], reference [degC], least_accepted, pan_fouled_share of TroughRules; faster_per_k
///   [1/K] dry_faster_per_k, or wet_faster_per_k of feed with water; feed [kg] meant for her; in_trough [kg] feed in
///   the trough; T [degC] room temperature; hunger [kg] accumulated appetite not yet satisfied by fresher feed; meal
///   [kg] the pool at which she starts a meal; lot [kg] feed of one delivery
/// Valid: 10 to 40 degC; feed in whole grams
/// Source: capacity is equipment: bowls of 3.2 kg (Beltranena 2024) to troughs of 8 kg; how feed ages is assumed,
/// without
///   a published number: Choi et al. 2018 found more bacteria in troughs the longer feed stood
class Trough {
 public:
  explicit Trough(const TroughRules& rules) : rules_(rules) {}

  void set_access(FeedAccess access) { access_ = access; }
  FeedAccess access() const { return access_; }

  /// Delivers feed and returns the grams that went in: a hand-fed trough takes no more than its capacity, and the rest
  /// is counted as undelivered.
  std::int64_t deliver(Time now, std::int64_t feed_g, FeedForm form, double room_deg_c);
  /// From now on the feed ages as at this room temperature.
  void feel(Time now, double room_deg_c);
  /// What a sow that wants so much would draw from the trough now, if she usually starts a meal at `meal_kg`.
  std::int64_t acceptable_g(Time now, double wanted_kg, double meal_kg) const;
  /// Removes the feed of a meal, freshest lot first.
  void take(const Meal& meal);
  /// Removes stale feed, or what has fouled the pan under full access; returns the grams removed.
  std::int64_t clean(Time now);

  bool holds_stale_feed(Time now) const;
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
    bool wet;
    double age;  ///< at aged_at; stale above 1
  };
  double hours_to_age(bool wet) const;
  double age(const Lot& lot, Time now) const;
  double acceptance(const Lot& lot, Time now) const;

  TroughRules rules_;
  FeedAccess access_ = FeedAccess::by_hand;
  std::vector<Lot> lots_;  ///< oldest first
  Time aged_at_;           ///< time for which the ages of the lots are noted
  double room_deg_c_ = 20;
  std::int64_t in_pan_g_ = 0;
  double fouled_g_ = 0;  ///< less than a gram, not yet in the pan
  std::int64_t offered_g_ = 0, undelivered_g_ = 0, eaten_g_ = 0, wasted_g_ = 0, removed_g_ = 0;
};

}  // namespace farrowtide
