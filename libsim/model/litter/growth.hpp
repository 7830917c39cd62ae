#pragma once

#include <span>

namespace farrowtide {

class Coefficients;

/// Daily litter gain from milk energy.
/// Equation:
///   gain [kg/d] = max(litter_gain_floor, (1000 * milk + energy_per_piglet * N) / energy_per_litter_gain) / 1000
/// Where: milk [Mcal/d] milk energy; N [piglets] suckling
/// Valid: means over whole lactations; single days have a floor
/// Source: Noblet & Etienne 1989, J Anim Sci 67:3352
class LitterGain {
 public:
  explicit LitterGain(const Coefficients& coefficients);
  double operator()(double milk_mcal_per_day, double piglets) const;
  /// Energy of the milk [Mcal] in a kilogram of gain.
  double milk_mcal_per_kg() const { return kcal_per_g_; }
  /// The milk energy that a gain takes [Mcal/d], 0 or more: the inverse.
  double milk_mcal(double gain_kg_per_day, double piglets) const;

 private:
  double kcal_per_g_, kcal_per_piglet_, floor_g_per_day_;
};

/// One piglet's claim on litter gain.
struct GainClaim {
  double weight_kg;
  double teat_effect = 0;  ///< log, GainSharing::teat_effect()
  double hindrance = 1;    ///< 0-1: recently moved, chilled, scouring; below 1 it takes this share of its fair share
};

/// Shares litter gain among piglets by weight and teat.
///
/// A piglet takes at most its share, what it can gain at its own size, and what one teat yields. What a hindered or
/// satisfied piglet leaves stays in its teat, which no other piglet empties, but for a part that its mates reach; the
/// rest costs the sow nothing.
/// Equation:
///   pull [-] = weight^share_weight_exponent * exp(share_teat_sd * z)
///   fair [kg/d] = LG * pull / sum(pull)
///   most [kg/d] = min(most_gain * weight^most_gain_exponent * exp(share_teat_sd * z), teat_most_gain)
///   own [kg/d] = hindrance * min(fair, most)
///   gain [kg/d] = own + 'its part by pull, up to' most 'and if not hindered, of' (1 - teat_bound) * (LG - sum(own))
/// Where: weight [kg] of the piglet; z [-] standard normal, one per piglet and its teat; LG [kg/d] litter gain;
///   hindrance [-] multiplier when moved
/// Valid: suckling piglets
/// Source: most gain Hodge 1974, Harrell 1993, Thompson & Fraser 1988; exponent and own effect fitted to Muns et al.
/// 2014
///   and Zindove et al. 2013, where spread at three weeks depended less on that at birth than on other things; what one
///   teat yields, and what mates reach of another's, assumed
class GainSharing {
 public:
  explicit GainSharing(const Coefficients& coefficients);

  /// Log effect of a piglet's teat, z standard normal.
  double teat_effect(double z) const { return teat_sd_ * z; }

  /// The most that an average piglet of this weight can gain in a day [kg], on milk ad libitum.
  double most_kg(double weight_kg) const;

  /// Fills gain_kg (same length as claims) and returns the unused gain; all together sum to litter_gain_kg.
  double operator()(double litter_gain_kg, std::span<const GainClaim> claims, std::span<double> gain_kg) const;

 private:
  double weight_exponent_, teat_sd_, teat_bound_, teat_most_kg_, most_gain_kg_, most_gain_exponent_;
};

}  // namespace farrowtide
