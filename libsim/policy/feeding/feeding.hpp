// The feeding family: when feed is given, and how much each sow gets. Decisions only; staff carry them out.
#pragma once

#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "libsim/kernel/time.hpp"
#include "libsim/policy/catalogue.hpp"

namespace farrowtide {

// What is known of one sow at a feeding round.
struct FeedingView {
  int parity = 1;
  bool farrowed = false;
  int day = 0;            // lactation day once she has farrowed; before that, days to her due date as a negative number
  Duration round;         // clock time of this round, since midnight
  double backfat_mm = 0;  // P2 at loading
  double in_trough_kg = 0;                              // feed in the trough now
  std::optional<double> own_allowance_kg_per_day = {};  // as set at her last trough check; empty before the first
  int own_allowance_day = 0;                            // lactation day of that check
};

// Her trough at the morning check, before the first feed of the day.
struct TroughView {
  int parity = 1;
  int day = 0;                                          // of lactation
  double offered_kg = 0, left_kg = 0;                   // since the last check, and left of it now
  std::optional<double> own_allowance_kg_per_day = {};  // as set at her last check, on lactation day own_allowance_day
  int own_allowance_day = 0;
};

struct TroughDecision {
  std::optional<double> allowance_kg_per_day = {};  // from now on; empty: unchanged
  bool flag = false;                                // staff are to look at her
};

enum class FeedAccess { by_hand, full };  // by_hand: a portion, from the cart or by machine

// What to do for one sow at one round.
struct FeedingDecision {
  FeedAccess access = FeedAccess::by_hand;
  double offer_kg = 0;  // the trough may hold less; 0 under full access, where the feeder is checked on the round
};

class FeedingPolicy {
 public:
  virtual ~FeedingPolicy() = default;

  // Increasing clock times of the rounds, since midnight. The same every day: staff have one timetable.
  virtual std::span<const Duration> rounds() const = 0;

  // The rounds at which sows are fed before farrowing, none if feed is always available; they influence the hour of
  // farrowing.
  virtual std::span<const Duration> pre_farrow_rounds() const = 0;

  // Empty: this round passes her by.
  virtual std::optional<FeedingDecision> decide(const FeedingView& view) const = 0;

  // Whether a machine drops the feed, on time and without staff.
  virtual bool dropped_by_machine() const { return false; }
  // The clock time at which staff check, once a day, the troughs filled by a machine; empty without a machine.
  virtual std::optional<Duration> machine_look_at() const { return std::nullopt; }

  // Whether staff check the trough of each sow that has farrowed in the morning, and what follows from it.
  virtual bool checks_troughs() const { return false; }
  virtual std::optional<TroughDecision> at_trough_check(const TroughView&) const { return std::nullopt; }

  // Whether stale feed is removed from a trough, once a day, before fresh feed is poured.
  virtual bool removes_stale_feed() const { return true; }

  // Whether a feeder that is always full shows staff what she took. Portions, by hand or machine, always do.
  virtual bool reads_feeders() const { return false; }

  // Whether feed is given wet, or water with it.
  virtual bool wet() const = 0;

  // One sentence for reports and `explain`.
  virtual std::string describe() const = 0;
};

std::span<const CatalogueEntry<FeedingPolicy>> feeding_catalogue();

}  // namespace farrowtide
