// The section `prices`: what a farm pays and is paid. The engine does not act on it; outputs in money follow from it.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "libsim/scenario/section.hpp"

namespace farrowtide {

// What it costs to change to an alternative, in the currency of its prices.
struct CostOfChange {
  double per_crate = 0;           // bought for each crate, lasts `lasts_years`
  double per_crate_and_year = 0;  // upkeep
  double once = 0;                // bought for the farm, lasts `lasts_years`
  double training_hours = 0;      // of staff, repeated every `lasts_years`
  double lasts_years = 1;

  static CostOfChange read(Section& section);
};

// There is no default price: what has no price is not counted.
struct Prices {
  std::string currency;
  std::vector<std::pair<std::string, double>> given;  // by key, in the order of the key reference
  CostOfChange change;
  std::optional<double> matters_per_litter;

  static Prices read(Section& section);
  bool counts_same_things_as(const Prices& other) const;
};

}  // namespace farrowtide
