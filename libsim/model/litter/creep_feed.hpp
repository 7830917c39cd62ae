#pragma once

#include <array>

namespace farrowtide {

class Coefficients;

/// Creep feed intake in addition to sow's milk, from d7; some piglets never eat any.
/// Equation:
///   eats if uniform >= non_eaters
///   feed [g/d] = creep_feed.intake[d] * exp(intake_sd * z) if eats, else 0
///   gain [kg/d] = feed / feed_per_gain / 1000
/// Where: d [d] day of lactation; eats [-] eats creep feed; uniform [-] uniform draw between 0 and 1, one per piglet; z
///   [-] standard normal, one per litter for its whole stay
/// Valid: d7-28
/// Source: total from Sulabo 2010 (228 g over d7-26); distribution over the weeks assumed
class CreepFeed {
 public:
  explicit CreepFeed(const Coefficients& coefficients);

  /// Whether a piglet eats creep feed; one uniform draw per piglet.
  bool is_eater(double uniform) const { return uniform >= non_eaters_; }

  /// Intake of one eater [g/d]; litter_z standard normal, one per litter for its whole stay.
  double intake_g_per_day(int lactation_day, double litter_z) const;

  /// Weight gain from creep feed [kg].
  double gain_kg(double feed_g) const;

 private:
  std::array<double, 3> from_day_, intake_g_per_day_;
  double sd_, non_eaters_, feed_per_gain_;
};

}  // namespace farrowtide
