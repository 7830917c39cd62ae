#pragma once

namespace farrowtide {

class Coefficients;

enum class Sex { female, male };

/// Weight of a piglet at birth [kg]: a litter mean that falls with litter size, and a piglet's own deviation.
/// Jourquin et al. 2016, IPVS proceedings; Smith et al. 2007, J Swine Health Prod 15:213.
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

/// Weight that growth-retarded piglets lack at birth [kg]: a small part of all, more in large litters (all assumed).
///
/// Left out unless a scenario asks for it: weights and survival were fitted without. One uniform of its own a piglet,
/// so the others keep their weight.
class Runts {
 public:
  explicit Runts(const Coefficients& coefficients);
  double deficit_kg(double born_alive, double uniform) const;

 private:
  double probability_, large_litter_multiplier_, large_litter_above_, deficit_kg_;
};

/// Traits a piglet is born with, each from a uniform of its own.
class NewbornTraits {
 public:
  explicit NewbornTraits(const Coefficients& coefficients);

  Sex sex(double uniform) const { return uniform < male_share_ ? Sex::male : Sex::female; }
  bool is_splay_legged(double uniform) const { return uniform < splay_legged_share_; }

 private:
  double male_share_, splay_legged_share_;
};

}  // namespace farrowtide
