#pragma once

#include <array>

namespace farrowtide {

class Coefficients;

/// Creep feed that piglets eat beside the sow's milk, from d7; some never do.
/// Equation:
///   eats if uniform >= non_eaters
///   feed [g/d] = creep_feed.intake[d] * exp(intake_sd * z) if eats, else 0
///   gain [kg/d] = feed / feed_per_gain / 1000
/// Where: d [d] day of lactation; eats [-] any creep feed; uniform [-] draw in 0-1, of the piglet; z [-] standard
///   normal, one for the litter and its stay
/// Valid: d7-28
/// Source: anchored on Sulabo 2010 (228 g over d7-26); the course over the weeks is assumed
class CreepFeed {
 public:
  explicit CreepFeed(const Coefficients& coefficients);

  /// Whether a piglet eats any; uniform is the piglet's own.
  bool is_eater(double uniform) const { return uniform >= non_eaters_; }

  /// Intake of one eater [g/d]; litter_z standard normal, one for the litter and its stay.
  double intake_g_per_day(int lactation_day, double litter_z) const;

  /// Gain it gives [kg].
  double gain_kg(double feed_g) const;

 private:
  std::array<double, 3> from_day_, intake_g_per_day_;
  double sd_, non_eaters_, feed_per_gain_;
};

}  // namespace farrowtide
