// The loading family: when sows are loaded, where first-parity sows stand, and which of them are shown how to drink and
// eat. Decisions only; staff carry them out.
#pragma once

#include <memory>
#include <span>
#include <string>

#include "libsim/kernel/time.hpp"
#include "libsim/policy/catalogue.hpp"

namespace farrowtide {

enum class GiltPlaces { side_by_side, spread };

// What staff see of a first-parity sow at loading or in the morning. Whether she has learned is visible only in what
// she eats.
struct GiltView {
  int days_in_room = 0;  // 0 is the day of loading
  int times_taught = 0;
  double eaten_since_yesterday_kg = 0;
};

class LoadingPolicy {
 public:
  virtual ~LoadingPolicy() = default;

  // From loading to the group's mean due date.
  virtual int days_before_due() const = 0;

  // If they are spread over the room, each task with one of them costs a walk.
  virtual GiltPlaces gilt_places() const = 0;

  // When first-parity sows should have learned to drink and to eat, from loading; only counted.
  virtual Duration gilts_ready_within() const { return Duration::from_hours(24); }

  // Whether staff show her where to drink and eat: asked when she is loaded, and each morning after.
  virtual bool teach(const GiltView& view) const = 0;

  // One sentence for reports and `explain`.
  virtual std::string describe() const = 0;
};

std::span<const CatalogueEntry<LoadingPolicy>> loading_catalogue();

}  // namespace farrowtide
