#pragma once

namespace farrowtide {

class Coefficients;

enum class Sex { female, male };

/// Piglet birth weight: a litter mean that decreases with litter size, plus an individual deviation. The spread within
/// a litter is in proportion to its mean, grows with litter size and differs between litters.
/// Equation:
///   litter_mean [kg] = birth_weight.mean - size_slope * (LB - size_centre) - first + litter_sd * z_litter
///   first [kg] = first_parity if parity = 1, else 0
///   spread [kg] = piglet_sd * litter_mean / birth_weight.mean
///     * exp(spread_size_slope * (LB - size_centre) + spread_litter_sd * z_spread - spread_litter_sd^2 / 2)
///   weight [kg] = clip(litter_mean + spread * z_piglet - Runts, least, most)
/// Where: LB [piglets] born alive; parity [-] of the sow; z_litter, z_spread, z_piglet [-] standard normal draws, two
///   per litter and one per piglet
/// Valid: 5-25 born alive
/// Source: Jourquin et al. 2016; Smith et al. 2007; Quiniou et al. 2002; slope and spread fitted to 1,005 litters of J
/// Anim Sci abstract 250 (authors not recorded) and Nam & Sukon 2022
class BirthWeight {
 public:
  explicit BirthWeight(const Coefficients& coefficients);
  /// Copy with a herd's own mean and standard deviation within litters [kg].
  BirthWeight of(double mean_kg, double piglet_sd_kg) const;

  /// Litter mean [kg]; calibrated on piglets born alive (5-25); litter_z standard normal.
  double litter_mean_kg(double born_alive, int parity, double litter_z) const;

  /// Standard deviation within a litter of this mean [kg]; spread_z standard normal.
  double spread_kg(double litter_mean_kg, double born_alive, double spread_z) const;

  /// Weight of one piglet [kg], less a runt's deficit, clipped to the observed range; piglet_z standard normal.
  double operator()(double litter_mean_kg, double spread_kg, double piglet_z, double runt_deficit_kg = 0) const;

 private:
  double mean_kg_, size_slope_kg_, size_centre_, first_parity_kg_, litter_sd_kg_, piglet_sd_kg_;
  double spread_size_slope_, spread_litter_sd_, least_kg_, most_kg_;
};

/// Birth weight deficit of growth-retarded piglets: a small share of all piglets, larger in large litters.
///
/// Off unless a scenario enables it: weights and survival were fitted without it. Each piglet has its own uniform draw,
/// so the weights of the other piglets do not change.
/// Equation:
///   p [-] = runt_probability * (runt_probability_large_litter_multiplier if LB > runt_large_litter_above, else 1)
///   deficit [kg] = runt_deficit if uniform < p, else 0
/// Where: LB [piglets] born alive; uniform [-] uniform draw between 0 and 1, one per piglet
/// Valid: any litter
/// Source: assumption
class Runts {
 public:
  explicit Runts(const Coefficients& coefficients);
  double deficit_kg(double born_alive, double uniform) const;

 private:
  double probability_, large_litter_multiplier_, large_litter_above_, deficit_kg_;
};

/// Traits present at birth, each from its own uniform draw.
/// Equation:
///   male if uniform < male_share; splayed if uniform < birth_weight.splay_legged
/// Where: uniform [-] uniform draw between 0 and 1, one per trait; male [-] sex; splayed [-] splay-legged
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
