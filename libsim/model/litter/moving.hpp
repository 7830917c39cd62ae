#pragma once

#include <array>

namespace farrowtide {

class Coefficients;

/// Whether the teat position a moved piglet preferred is already taken in its new litter.
enum class PreferredTeat { unknown, taken, free };

/// Move of a piglet to another sow.
struct Move {
  double age_d;
  double birth_weight_kg;
  PreferredTeat teat = PreferredTeat::unknown;  ///< has an effect from one week of age
};

/// Remaining effects of earlier moves on a piglet; carried over from move to move.
struct MoveBurden {
  double growth = 1, growth_until_age_d = 0;
  double log_hazard = 0, log_hazard_until_age_d = 0;

  /// Multiplier on its fair share of litter gain.
  double growth_at(double age_d) const { return age_d < growth_until_age_d ? growth : 1; }
  /// Added to its log hazard of death.
  double log_hazard_at(double age_d) const { return age_d < log_hazard_until_age_d ? log_hazard : 0; }
};

/// Effects of a move on a piglet's growth and survival, by age.
///
/// The lower mortality of moved piglets in farm records reflects selection and is not modelled as an effect.
/// Equation:
///   loss [-] = growth.at_age[age]; heavy_at_d2 if 'on' d2 and BW >= heavy;
///     preferred_teat_taken or preferred_teat_free if 'at least a week old and its teat is known'
///   heavy [kg] = birth_weight.mean + heavy_from_z * sqrt(litter_sd^2 + piglet_sd^2)
///   growth [-] = max(growth.least, growth_before * loss) 'for' growth.lasts[age] or heavy_at_d2_lasts
///   hazard [log] = hazard_before + survival.at_age[age] 'for' survival.lasts
///   sources [log] = many_sources if litters >= many_sources_from and BW < many_sources_weight_below, else 0
/// Where: age [-] age class at the move; d2 [-] ages of 1 and 2 d; BW [kg] birth weight; growth_before [-] remaining
///   effect of an earlier move; hazard_before [log] remaining effect of earlier moves; litters [litters] source litters
///   of the piglets fostered to its present sow
/// Valid: 0-28 d
/// Source: growth Horrell & Bennett 1981, Heim et al. 2012, Zhang et al. 2021; deaths assumed
class MoveEffects {
 public:
  explicit MoveEffects(const Coefficients& coefficients);

  /// The effects after one more move: while an earlier move still has an effect, growth multiplies and log hazards add.
  MoveBurden operator()(const MoveBurden& before, const Move& move) const;

  /// Log hazard of a moved piglet while it is in a litter of mixed origin. `source_litters` counts the litters that
  /// supplied piglets to its present sow, not including her own.
  double many_sources_log_hazard(int source_litters, double birth_weight_kg) const;

 private:
  struct GrowthLoss {
    double multiplier, lasts_d;
  };
  GrowthLoss growth_loss(const Move& move) const;

  std::array<GrowthLoss, 4> growth_;
  GrowthLoss heavy_;
  double heavy_from_kg_, teat_taken_, teat_free_, least_growth_;
  std::array<double, 3> log_hazard_;
  double log_hazard_lasts_d_, many_sources_, many_sources_from_, many_sources_below_kg_;
};

/// Effects on resident piglets when unfamiliar piglets join their litter.
/// Equation:
///   growth [-] = residents.multiplier if n >= residents.strangers
///     and day > after_day and 0 <= t < residents.lasts, else 1
///   fights [-] = n * exp(-t / fight_decay)
/// Where: n [piglets] unfamiliar piglets that joined together; day [d] day of lactation on which they joined; t [d]
///   time since then
/// Valid: litters that receive unfamiliar piglets
/// Source: direction of effect published, sizes assumed
class ResidentEffects {
 public:
  explicit ResidentEffects(const Coefficients& coefficients);

  /// Multiplies a resident's growth. `strangers` is the number of unfamiliar piglets that joined together on that day.
  double growth(int strangers, int lactation_day_of_move, double days_since_move) const;

  /// Fighting index: the number of unfamiliar piglets, decaying with time since they joined.
  double fights(int strangers, double days_since_move) const;

 private:
  double multiplier_, strangers_, after_day_, lasts_d_, fight_decay_d_;
};

/// Response of a nurse sow to a whole foster litter after her own litter was weaned: 1 of 10 refused, milk dropped in 4
/// of 9.
/// Equation:
///   refused if uniform < refuses
///   milk [-] = milk_drop_multiplier if uniform < milk_drops, else 1; 'the loss ends as that of' DemandMismatch
/// Where: refused [-] the whole litter is refused; uniform [-] uniform draw between 0 and 1, one for each line
/// Valid: nurse sows
/// Source: a Danish study of 10 intermediate nurse sows, authors not recorded; size of the drop assumed
class LitterAdoption {
 public:
  explicit LitterAdoption(const Coefficients& coefficients);

  bool refuses(double uniform) const { return uniform < refuses_; }

  /// Multiplies her milk at first.
  double milk_multiplier(double uniform) const { return uniform < milk_drops_ ? drop_multiplier_ : 1; }

 private:
  double refuses_, milk_drops_, drop_multiplier_;
};

/// Milk multiplier when the age of the piglets does not match the stage of lactation: milk follows demand for some
/// days, after which the piglets have adapted to the sow and the sow to them.
/// Equation:
///   at_first [-] = clip((weight / usual)^exponent, demand_mismatch.least, demand_mismatch.most)
///   left [-] = clip((demand_mismatch.lasts - t) / (demand_mismatch.lasts - holds), 0, 1)
///   f [-] = 1 + (at_first - 1) * left
/// Where: weight [kg] mean weight of the piglets; usual [kg] actual or usual weight of her own piglets on that day; t
///   [d] time since the move
/// Valid: 0.75-1.27
/// Source: King et al. 1997, Livest Prod Sci
class DemandMismatch {
 public:
  explicit DemandMismatch(const Coefficients& coefficients);

  /// expected_kg is the actual or usual weight of her own piglets on that day of lactation.
  double operator()(double piglet_mean_kg, double expected_kg, double days_since_move) const;

  /// Share of the effect of a move that is left.
  double left(double days_since_move) const;

 private:
  double exponent_, least_, most_, holds_d_, lasts_d_;
};

/// Probability that a move transfers disease from the source litter to the receiving litter.
/// Equation:
///   p [-] = min(1, transfer(age) * prevalence / reference_prevalence)
/// Where: age [d] at the move, interpolated linearly between the ages of the table, constant outside them; prevalence
///   [-] in the source litter
/// Valid: 1-10 d
/// Source: Mason et al. 2014 (d10); the rest assumed
class DiseaseTransfer {
 public:
  explicit DiseaseTransfer(const Coefficients& coefficients);
  double probability(double age_d, double source_prevalence) const;

 private:
  std::array<double, 3> age_d_, transfer_;
  double reference_prevalence_;
};

}  // namespace farrowtide
