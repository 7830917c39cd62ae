#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "libsim/kernel/time.hpp"
#include "libsim/model/sow/appetite.hpp"
#include "libsim/model/sow/meals.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// What a trough holds and how long feed in it stays fit.
struct TroughRules {
  std::int64_t capacity_g;       ///< a hand-fed delivery fills it at most to this
  Duration fit_for;              ///< from delivery
  Duration fit_for_wet_and_hot;  ///< from the moment it got wet in a hot room
  double wet_and_hot_above_deg_c;

  static TroughRules standard(const Coefficients& coefficients);
};

/// Feed in front of one sow, in whole grams, oldest eaten first. Under full access feed is offered as she draws it and
/// does not age. While any spoiled lot lies there she refuses the trough until it is cleaned.
/// Equation:
///   into_trough [kg] = min(feed, capacity - in_trough)
///   fit_until [h] = delivered + fit_for; min(fit_until, wetted + fit_for_wet_and_hot) if T > wet_and_hot_above
///   edible [kg] = 0 if 'any lot is past' fit_until, else in_trough
/// Where: capacity [kg] of TroughRules; fit_for, fit_for_wet_and_hot [h] of TroughRules; wet_and_hot_above [degC] of
///   TroughRules; feed [kg] delivered by hand; in_trough [kg] what lies there; delivered, wetted [h] when it came and
///   when it got wet; T [degC] room
/// Valid: feed given by hand
/// Source: capacity Peng et al. 2007; how long feed stays fit assumed
class Trough {
 public:
  explicit Trough(const TroughRules& rules) : rules_(rules) {}

  void set_access(FeedAccess access) { access_ = access; }
  FeedAccess access() const { return access_; }

  /// Puts feed in and returns the grams that went in: a hand-fed trough takes no more than its capacity.
  std::int64_t deliver(Time now, std::int64_t feed_g, FeedForm form, double room_deg_c);
  /// Water got into the feed that lies there; in a hot room it is fit for less long.
  void wet(Time now, double room_deg_c);
  /// What she could draw now: nothing while spoiled feed lies there.
  std::int64_t edible_g(Time now) const;
  /// Takes a meal's feed, oldest lot first.
  void take(Time now, const Meal& meal);
  /// Takes everything out and returns the grams removed.
  std::int64_t clean();

  bool holds_spoiled_feed(Time now) const;
  /// When the first lot that lies there will be spoiled, if feed stays in it.
  std::optional<Time> spoils_at() const;
  bool empty() const { return lots_.empty(); }

  std::int64_t in_trough_g() const;
  std::int64_t offered_g() const { return offered_g_; }
  std::int64_t eaten_g() const { return eaten_g_; }
  std::int64_t wasted_g() const { return wasted_g_; }
  std::int64_t removed_g() const { return removed_g_; }
  /// Offered less eaten, wasted, removed and in the trough: always 0.
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
  std::int64_t offered_g_ = 0, eaten_g_ = 0, wasted_g_ = 0, removed_g_ = 0;
};

}  // namespace farrowtide
