// The handling family: on which days litters are processed. Decisions only. Processing needs pain relief where local
// law requires it; ask the herd veterinarian.
#pragma once

#include <memory>
#include <span>
#include <string>

#include "libsim/policy/catalogue.hpp"

namespace farrowtide {

struct HandlingView {
  int lactation_day = 0;
  int piglets = 0;  // that nurse her
};

class HandlingPolicy {
 public:
  virtual ~HandlingPolicy() = default;

  // The share of the litter's processing done today, 0-1; a litter's shares add up to 1. Every day with a share
  // disturbs sow and litter, however small the share.
  virtual double share_of_processing(const HandlingView& view) const = 0;

  // One sentence for reports and `explain`.
  virtual std::string describe() const = 0;
};

std::span<const CatalogueEntry<HandlingPolicy>> handling_catalogue();

}  // namespace farrowtide
