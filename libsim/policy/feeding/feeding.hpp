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
  double in_trough_kg = 0;  // what lies there now
};

enum class FeedAccess { by_hand, full };

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

  // Feed comes wet, or water with it.
  virtual bool wet() const = 0;

  // One sentence for reports and `explain`.
  virtual std::string describe() const = 0;
};

std::span<const CatalogueEntry<FeedingPolicy>> feeding_catalogue();

}  // namespace farrowtide
