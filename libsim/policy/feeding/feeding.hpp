// The feeding family: when feed comes to the troughs and how much each sow gets. Decisions only; staff carry them out.
#pragma once

#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "libsim/kernel/time.hpp"
#include "libsim/policy/catalogue.hpp"

namespace farrowtide {

// What the person with the feed cart knows of one sow.
struct FeedingView {
  int parity = 1;
  bool farrowed = false;
  int day = 0;            // lactation day once she has farrowed; before that, days to her due date as a negative number
  Duration round;         // clock time of this round, since midnight
  double backfat_mm = 0;  // P2 at loading
  double in_trough_kg = 0;                              // what lies there now
  std::optional<double> own_allowance_kg_per_day = {};  // as set at her last trough check; nothing before the first
};

// Her trough at the morning check, before the first feed of the day.
struct TroughView {
  int parity = 1;
  int day = 0;                         // of lactation
  double offered_kg = 0, left_kg = 0;  // since the last check, and of it now
  std::optional<double> own_allowance_kg_per_day = {};
};

struct TroughDecision {
  std::optional<double> allowance_kg_per_day = {};  // hers from now on; nothing: as before
  bool flag = false;                                // somebody is to look at her
  bool clean = false;                               // what lies there is removed now
};

enum class FeedAccess { by_hand, full };  // by_hand: a portion, from the cart or by machine

// What to do for one sow at one round.
struct FeedingDecision {
  FeedAccess access = FeedAccess::by_hand;
  double offer_kg = 0;  // the trough may hold less; 0 under full access, where the round is a look at the feeder
};

class FeedingPolicy {
 public:
  virtual ~FeedingPolicy() = default;

  // Clock times of the rounds, rising, since midnight. The same on every day: staff keep one timetable.
  virtual std::span<const Duration> rounds() const = 0;

  // Those at which sows about to farrow are fed, none if feed is always at hand; they move the hour of farrowing.
  virtual std::span<const Duration> pre_farrow_rounds() const = 0;

  // Nothing: this round passes her by.
  virtual std::optional<FeedingDecision> decide(const FeedingView& view) const = 0;

  // Whether a machine drops the feed, at its time and without people.
  virtual bool dropped_by_machine() const { return false; }
  // The clock time at which staff look once a day at the troughs that a machine fills; nothing without a machine.
  virtual std::optional<Duration> machine_look_at() const { return std::nullopt; }

  // Whether staff look at each trough of sows that have farrowed in the morning, and what follows from it.
  virtual bool checks_troughs() const { return false; }
  virtual std::optional<TroughDecision> at_trough_check(const TroughView&) const { return std::nullopt; }

  // Feed comes wet, or water with it.
  virtual bool wet() const = 0;

  // One sentence for reports and `explain`.
  virtual std::string describe() const = 0;
};

std::span<const CatalogueEntry<FeedingPolicy>> feeding_catalogue();

}  // namespace farrowtide
