#pragma once

namespace farrowtide {

class Coefficients;

enum class Sex { female, male };

/// Weight of a piglet at birth: a litter mean that falls with litter size, and a piglet's own deviation.
/// Equation:
///   litter_mean [kg] = birth_weight.mean - size_slope * (LB - size_centre) - first + litter_sd * z_litter
///   first [kg] = first_parity if parity = 1, else 0
///   weight [kg] = clip(litter_mean + piglet_sd * z_piglet - Runts, least, most)
/// Where: LB [piglets] born alive; parity [-] of the sow; z_litter, z_piglet [-] standard normal draws
/// Valid: 5-25 born alive
/// Source: Jourquin et al. 2016; Smith et al. 2007; slope between van den Bosch et al. 2022 and Quiniou et al. 2002
class BirthWeight {
 public:
  explicit BirthWeight(const Coefficients& coefficients);

  /// Mean of the litter [kg]; the calibration is on piglets born alive (5-25), litter_z standard normal.
  double litter_mean_kg(double born_alive, int parity, double litter_z) const;

  /// One piglet [kg], piglet_z standard normal, less a runt's deficit, truncated to what is seen.
  double operator()(double litter_mean_kg, double piglet_z, double runt_deficit_kg = 0) const;

 private:
  double mean_kg_, size_slope_kg_, size_centre_, first_parity_kg_, litter_sd_kg_, piglet_sd_kg_, least_kg_, most_kg_;
};

/// Weight that growth-retarded piglets lack at birth: a small part of all, more in large litters.
///
/// Left out unless a scenario asks for it: weights and survival were fitted without. One uniform of its own a piglet,
/// so the others keep their weight.
/// Equation:
///   p [-] = runt_probability * (runt_probability_large_litter_multiplier if LB > runt_large_litter_above, else 1)
///   deficit [kg] = runt_deficit if uniform < p, else 0
/// Where: LB [piglets] born alive; uniform [-] draw in 0-1, of the piglet
/// Valid: any litter
/// Source: assumption
class Runts {
 public:
  explicit Runts(const Coefficients& coefficients);
  double deficit_kg(double born_alive, double uniform) const;

 private:
  double probability_, large_litter_multiplier_, large_litter_above_, deficit_kg_;
};

/// Traits a piglet is born with, each from a uniform of its own.
/// Equation:
///   male if uniform < male_share; splayed if uniform < birth_weight.splay_legged
/// Where: uniform [-] draw in 0-1, one for each trait; male [-] its sex; splayed [-] splay-legged
/// Valid: any piglet
/// Source: assumption
class NewbornTraits {
 public:
  explicit NewbornTraits(const Coefficients& coefficients);

  Sex sex(double uniform) const { return uniform < male_share_ ? Sex::male : Sex::female; }
  bool is_splay_legged(double uniform) const { return uniform < splay_legged_share_; }

 private:
  double male_share_, splay_legged_share_;
};

}  // namespace farrowtide
