// The water family: which drinkers are checked when, and below which flow they are repaired. Decisions only.
#pragma once

#include <memory>
#include <span>
#include <string>

#include "libsim/policy/catalogue.hpp"

namespace farrowtide {

// One drinker in the morning.
struct DrinkerView {
  int day = 0;    // of the group, 0 is loading
  int crate = 1;  // from 1
  int crates = 1;
  bool sow_flagged = false;  // she was seen not to eat or drink, or at a dry drinker
  bool looked_at = false;    // since loading
};

class WaterPolicy {
 public:
  virtual ~WaterPolicy() = default;

  // Whether its flow is checked this morning.
  virtual bool check(const DrinkerView& view) const = 0;

  // The flow [L/min] below which a checked drinker is repaired; a clogged drinker always is.
  virtual double action_limit_l_per_min() const = 0;

  // Whether any drinker is ever checked; a policy that checks none is for comparison only.
  virtual bool checks() const { return true; }

  // One sentence for reports and `explain`.
  virtual std::string describe() const = 0;
};

std::span<const CatalogueEntry<WaterPolicy>> water_catalogue();

}  // namespace farrowtide
