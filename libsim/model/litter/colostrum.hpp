#pragma once

#include <array>
#include <cstddef>
#include <vector>

namespace farrowtide {

class Coefficients;

/// Colostrum yield of a sow over 24 h, on the bottle-fed scale (0.70 of the deuterium scale). Heavy litters draw more;
/// of litters of one mean weight, large ones a little more, so that yield as a whole does not rise with litter size.
/// Equation:
///   size [-] = 1 + size_slope * (LB - size_centre)
///   weight [-] = (BW / weight_centre)^sow_yield.weight_exponent
///   undisturbed [g] = (sow_yield.mean + sow_yield.sd * z) * size * weight * parity_factor[class]
///   longer [min] = clip(FD - duration_from, duration_least, duration_most)
///   yield [g] = max(floor, undisturbed - duration_slope * longer)
///   assisted [g] = assisted_multiplier * yield
/// Where: LB [piglets] born alive; BW [kg] mean birth weight of the litter; class [-] parity 1, 2-4, 5 and later; FD
/// [min] farrowing duration, elapsed time
///   until the last piglet is born; z [-] standard normal draw per sow; assisted is the yield after an assisted
///   farrowing
/// Valid: full effect of duration for farrowings of 2-10 h
/// Source: Devillers et al. 2007 (yield r = 0.38 with the litter's mean weight); duration Hasan et al. 2019; assistance
/// Wongwaipisitkul et al. 2023
class ColostrumYield {
 public:
  explicit ColostrumYield(const Coefficients& coefficients);

  /// z standard normal; farrowing_duration_min is the elapsed time until the last piglet is born.
  double operator()(double born_alive, double litter_mean_kg, int parity, double farrowing_duration_min,
                    double z) const;

  /// Multiplies colostrum yield after an assisted farrowing. Wongwaipisitkul et al. 2023.
  double assisted_multiplier() const { return assisted_; }

 private:
  double mean_g_, sd_g_, size_slope_, size_centre_, weight_exponent_, weight_centre_kg_;
  std::array<double, 3> parity_factor_;
  double duration_slope_g_, duration_from_min_, duration_least_min_, duration_most_min_, floor_g_, assisted_;
};

/// Colostrum intake multiplier for a cold room; about 1 at 21 degC.
/// Equation:
///   f [-] = min(most, (1 - slope * max(0, critical_temperature - (T + newborn))) / reference)
/// Where: T [degC] room temperature
/// Valid: 18-32 degC where the piglets lie
/// Source: Le Dividich & Noblet 1981, Neonatology 40:167
class ColostrumChill {
 public:
  explicit ColostrumChill(const Coefficients& coefficients);
  double operator()(double room_deg_c) const;

 private:
  double slope_per_k_, critical_deg_c_, newborn_offset_k_, reference_, most_;
};

/// One piglet at the udder. A piglet that has died or left keeps its slot and stops drinking.
struct Suckler {
  double share_weight;   ///< see ColostrumSharing::share_weight(); 0 once it has stopped drinking
  double cap_g;          ///< maximum intake, see ColostrumSharing::cap_g()
  double clock_start_h;  ///< own birth; for a fostered piglet the earlier of own birth and last birth of the new dam
  double drunk_g = 0;    ///< up to ColostrumShares::at_h
  double delivered = 0;  ///< share of its day's colostrum delivered by then, kept by ColostrumSharing
};

/// Colostrum of one litter: the piglets suckling and the intake of each. The caller may use any clock for the hours.
struct ColostrumShares {
  double yield_g = 0;         ///< of the sow, times the assisted and chill multipliers; may change over time
  double mouths_to_come = 0;  ///< unborn piglets, each counted as an average of those already suckling
  double at_h = 0;            ///< time up to which `drunk_g` holds
  std::vector<Suckler> piglets;
};

/// Shares a sow's colostrum among her piglets; updated whenever a piglet joins or leaves.
/// Equation:
///   w [kg] = weight^weight_exponent * exp(share.sd * z)
///     * (1 - birth_order * k / TB) * (splay_multiplier if 'splay-legged', else 1)
///   G(a) [-] = (1 - exp(-delivery.rate * a)) / (1 - exp(-delivery.rate * delivery.duration))
///   pull [kg] = sum(w) * (1 + unborn / sucklers)
///   drinks [g/h] = yield * w / pull * 'rate of increase of' G 'at' a 'until intake reaches' cap
///   cap [g] = cap_per_kg * weight + cap_constant
/// Where: weight [kg] at birth; k [-] birth rank; TB [piglets] total born; z [-] standard normal draw per piglet; a [h]
///   age, for a fostered piglet the hours since the last birth of the new dam if longer, 0 to duration; yield [g] of
///   ColostrumYield times ColostrumChill; unborn, sucklers [piglets] still to be born and already suckling
/// Valid: the first 24 h
/// Source: shares fitted to Declerck et al. 2017; G Bland et al. 2003; cap, birth order and splay legs assumed
class ColostrumSharing {
 public:
  explicit ColostrumSharing(const Coefficients& coefficients);

  /// Weight of one piglet in the sharing of colostrum; z standard normal, birth_rank from 1.
  double share_weight(double weight_kg, double z, int birth_rank, int total_born, bool splay_legged) const;
  double cap_g(double birth_weight_kg) const { return cap_g_per_kg_ * birth_weight_kg + cap_g_; }

  /// Share of the day's colostrum delivered by age [h]; 0 before birth, 1 from 24 h.
  double delivered(double age_h) const;

  /// Updates `drunk_g` of every piglet to `now_h` with the shares in effect since `at_h`.
  void advance(ColostrumShares& shares, double now_h) const;

  /// Adds a piglet after advance(); returns its slot, which it keeps.
  std::size_t join(ColostrumShares& shares, double now_h, const Suckler& piglet) const;

  /// Removes a piglet that dies or is moved; returns its intake so far [g].
  double leave(ColostrumShares& shares, double now_h, std::size_t slot) const;

  /// What a day delivers to a share weight of 1 [g/kg] while the shares are as they are.
  double g_per_weight(const ColostrumShares& shares) const { return shares.yield_g / pull_of_all(shares); }

  /// Projected total intake of the piglet if nothing changes [g]. Call after any change in the shares.
  double projected_g(const ColostrumShares& shares, std::size_t slot) const {
    return projected_g(shares.piglets.at(slot), g_per_weight(shares));
  }
  /// The same with what g_per_weight() gives, which all piglets of a litter share.
  double projected_g(const Suckler& piglet, double g_per_weight) const;

 private:
  double pull_of_all(const ColostrumShares& shares) const;

  double weight_exponent_, sd_, birth_order_, splay_, rate_per_h_, duration_h_, expm1_of_all_, cap_g_per_kg_, cap_g_;
};

/// Colostrum intake on the deuterium dilution scale, estimated from weight gain.
/// Equation:
///   intake [g] = theil.a + theil.gain * G + theil.weight * BW
///     + theil.duration * D + gain_per_duration * G / D + gain_per_weight * G / BW
/// Where: G [g] weight gain; BW [kg] birth weight; D [min] duration of suckling
/// Valid: suckling for 17-24 h
/// Source: Theil et al. 2014, J Anim Sci 92:5507
class TheilIntake {
 public:
  explicit TheilIntake(const Coefficients& coefficients);
  double operator()(double birth_weight_kg, double gain_g, double suckled_min) const;

 private:
  double a_, gain_, weight_, duration_, gain_per_duration_, gain_per_weight_;
};

/// Colostrum intake on the bottle-fed scale, estimated from weight gain.
/// Equation:
///   late [-] = first_a + first_b * S + first_c * S^2
///   intake [g] = devillers.a + time * t + ratio * (BW + G / 1000) / t + BW * (devillers.weight - ratio / t) * late
/// Where: BW [kg] birth weight; G [g] weight gain; t [min] age; S [min] interval from birth to first suckling
/// Valid: ages of 17-25 h
/// Source: Devillers et al. 2004, from memory
class DevillersIntake {
 public:
  explicit DevillersIntake(const Coefficients& coefficients);
  double operator()(double birth_weight_kg, double gain_g, double age_min, double first_suck_min) const;

 private:
  double a_, time_, ratio_, weight_, first_a_, first_b_, first_c_;
};

}  // namespace farrowtide
