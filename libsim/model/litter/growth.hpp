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
/// A hindered piglet leaves part of its share; littermates take it up only to the limit of their own appetite and of
/// what a piglet of their size can gain at all. The rest stays in the udder, and costs the sow nothing.
/// Equation:
///   size [-] = weight^share_weight_exponent
///   pull [-] = size * exp(share_teat_sd * z)
///   fair [kg/d] = LG * pull / sum(pull)
///   appetite [kg/d] = appetite_cap * usual * N * size / sum(size)
///   most [kg/d] = most_gain * weight^most_gain_exponent
///   limit [kg/d] = hindrance * min(fair, appetite, most) if hindrance < 1, else min(appetite, most)
///   gain [kg/d] = min(limit, 'its part by pull of what satisfied piglets left')
/// Where: weight [kg] of the piglet; z [-] standard normal, one per teat; LG [kg/d] litter gain; N [piglets] suckling;
///   usual [kg/d] gain of a piglet of the litter's mean weight; hindrance [-] multiplier when moved, chilled or
///   scouring
/// Valid: suckling piglets
/// Source: appetite Harrell 1993 (gain on a liquid diet offered ad libitum); most gain Hodge 1974, Thompson & Fraser
///   1988; exponent and teat effect assumed
class GainSharing {
 public:
  explicit GainSharing(const Coefficients& coefficients);

  /// Log effect of a piglet's teat, z standard normal.
  double teat_effect(double z) const { return teat_sd_ * z; }

  /// The most that a piglet of this weight can gain in a day [kg], on milk ad libitum.
  double most_kg(double weight_kg) const;

  /// Fills gain_kg (same length as claims) and returns the unused gain; all together sum to litter_gain_kg.
  /// sow_reared_mean_kg, the usual gain that day of a piglet of the litter's mean weight, sets the appetite.
  double operator()(double litter_gain_kg, double sow_reared_mean_kg, std::span<const GainClaim> claims,
                    std::span<double> gain_kg) const;

 private:
  double weight_exponent_, teat_sd_, appetite_cap_, most_gain_kg_, most_gain_exponent_;
};

}  // namespace farrowtide
