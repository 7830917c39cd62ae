#pragma once

#include <array>

#include "libsim/policy/care/care.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Whether the sow has the condition that the sign indicates: leg problems for legs, a post-partum disorder for the
/// rest.
enum class Condition { absent, present };

/// Sensitivity and specificity of one daily visual check. A healthy sow that looks as if she had the sign does so at
/// every check: false signs are her own.
/// Equation:
///   sensitivity [-] = nursing_sensitivity, udder_sensitivity 'or' legs_sensitivity
///   specificity [-] = nursing_specificity, udder_specificity 'or' legs_specificity
///   seen if own < 1 - specificity, 'or' 'she has the condition the sign indicates and' uniform < sensitivity
/// Where: seen [-] the sign is seen; own [-] uniform draw between 0 and 1, one per sow and sign; uniform [-] uniform
///   draw between 0 and 1, one per check
/// Valid: one check a day; temperature is measured, see RectalTemperature, and eating and drinking are seen, see
///   IntakeSeen
/// Source: assumption (sensitivity 0.68 for piglet behaviour in one 202-sow study)
class Signs {
 public:
  explicit Signs(const Coefficients& coefficients);
  /// Probability that the sign is seen at one check. Not for Sign::temperature and Sign::not_eaten.
  double probability(Sign sign, Condition condition) const;
  bool seen(Sign sign, Condition condition, double uniform, double own_uniform) const;

 private:
  struct Look {
    double sensitivity, specificity;
  };
  const Look& look(Sign sign) const;
  Look nursing_, udder_, legs_;
};

/// How staff know what is gone from a trough: from the portions poured, or the readings of a feeder, and what is left;
/// or only from the look of a feeder that is always full.
enum class IntakeMeter { portions, none };

/// What staff see of a sow's eating and drinking between two mornings, and when they take it for a sign. They compare
/// it with what a healthy sow of her parity and day eats of what was in front of her; why she left it they do not see.
/// Equation:
///   sd [log] = eaten_sd 'for portions and feeders with readings', else eaten_sd_without_readings
///   eaten_seen [kg] = eaten * exp(sd * z_eaten)
///   drunk_seen [L] = drunk * exp(drunk_sd * z_drunk)
///   off_feed if eaten_seen < off_feed_share * expected and expected >= least_to_judge
///   off_water if drunk_seen < off_water_share * expected_water
///   untouched if eaten_seen < untouched_share * expected and expected >= least_to_judge
///   noticed if uniform < not_eaten_or_drunk_sensitivity
/// Where: eaten [kg] since the morning before; drunk [L] likewise; expected [kg] of a healthy sow in that time, at most
///   what was in front of her unless feed is always available; expected_water [L] with it; z_eaten, z_drunk [-]
///   standard normal, per morning; uniform [-] uniform draw between 0 and 1, one per look; off_feed, off_water,
///   untouched [-] as they appear; noticed [-] by somebody who looks at trough and drinker, who also sees a drinker
///   that gives nothing
/// Valid: from the first morning after farrowing
/// Source: assumption
class IntakeSeen {
 public:
  explicit IntakeSeen(const Coefficients& coefficients);
  /// Estimates [kg, L] from the true amounts and standard normal draws.
  double eaten_kg(double eaten_kg, IntakeMeter meter, double z) const;
  double drunk_l(double drunk_l, double z) const;
  bool is_enough_to_judge(double expected_kg) const { return expected_kg >= least_to_judge_kg_; }
  bool is_off_feed(double seen_kg, double expected_kg) const {
    return is_enough_to_judge(expected_kg) && seen_kg < off_feed_share_ * expected_kg;
  }
  bool is_untouched(double seen_kg, double expected_kg) const {
    return is_enough_to_judge(expected_kg) && seen_kg < untouched_share_ * expected_kg;
  }
  bool is_off_water(double seen_l, double expected_l) const { return seen_l < off_water_share_ * expected_l; }
  bool is_noticed(double uniform) const { return uniform < sensitivity_; }

 private:
  double eaten_sd_, eaten_sd_without_readings_, drunk_sd_;
  double off_feed_share_, off_water_share_, untouched_share_, least_to_judge_kg_, sensitivity_;
};

}  // namespace farrowtide
