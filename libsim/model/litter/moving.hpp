#pragma once

#include <array>

namespace farrowtide {

class Coefficients;

/// Whether the teat a moved piglet used to suck has an owner in its new litter.
enum class PreferredTeat { unknown, taken, free };

/// A piglet put to another sow.
struct Move {
  double age_d;
  double birth_weight_kg;
  PreferredTeat teat = PreferredTeat::unknown;  ///< counts from a week of age
};

/// What moves still weigh on a piglet; carried by it from move to move.
struct MoveBurden {
  double growth = 1, growth_until_age_d = 0;
  double log_hazard = 0, log_hazard_until_age_d = 0;

  /// Part of its fair share of the litter's gain that it takes.
  double growth_at(double age_d) const { return age_d < growth_until_age_d ? growth : 1; }
  /// Adds to its log hazard of death.
  double log_hazard_at(double age_d) const { return age_d < log_hazard_until_age_d ? log_hazard : 0; }
};

/// What being moved costs a piglet, by its age.
///
/// That moved piglets die less in records is selection, and no effect here.
/// Equation:
///   loss [-] = growth.at_age[age]; heavy_at_d2 if 'on' d2 and BW >= heavy;
///     preferred_teat_taken or preferred_teat_free if 'a week old or more and its teat is known'
///   heavy [kg] = birth_weight.mean + heavy_from_z * sqrt(litter_sd^2 + piglet_sd^2)
///   growth [-] = max(growth.least, growth_before * loss) 'for' growth.lasts[age] or heavy_at_d2_lasts
///   hazard [log] = hazard_before + survival.at_age[age] 'for' survival.lasts
///   sources [log] = many_sources if litters >= many_sources_from and BW < many_sources_weight_below, else 0
/// Where: age [-] class of age at the move; d2 [-] ages of 1 and 2 d; BW [kg] birth weight; growth_before [-] while it
///   still weighs; hazard_before [log] while an earlier move still weighs; litters [litters] that gave piglets to its
///   present sow
/// Valid: 0-28 d
/// Source: growth Horrell & Bennett 1981, Heim et al. 2012, Zhang et al. 2021; deaths assumed
class MoveEffects {
 public:
  explicit MoveEffects(const Coefficients& coefficients);

  /// The burden after one more move: growth multiplies and hazards add while an earlier move still weighs.
  MoveBurden operator()(const MoveBurden& before, const Move& move) const;

  /// Log hazard of a moved piglet for as long as it is in a litter of many sources. `source_litters` gave piglets to
  /// its present sow; her own litter does not count.
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

/// What the piglets of a litter that gets strangers lose.
/// Equation:
///   growth [-] = residents.multiplier if n >= residents.strangers
///     and day > after_day and 0 <= t < residents.lasts, else 1
///   fights [-] = n * exp(-t / fight_decay)
/// Where: n [piglets] strangers that came together; day [d] of lactation when they came; t [d] since then
/// Valid: litters with strangers
/// Source: direction published, sizes assumed
class ResidentEffects {
 public:
  explicit ResidentEffects(const Coefficients& coefficients);

  /// Multiplies a resident's growth. `strangers` came together, that long ago, on that day of lactation.
  double growth(int strangers, int lactation_day_of_move, double days_since_move) const;

  /// Fights, as an index: strangers, fading with time since they came.
  double fights(int strangers, double days_since_move) const;

 private:
  double multiplier_, strangers_, after_day_, lasts_d_, fight_decay_d_;
};

/// How a sow takes a whole foster litter after her own was weaned: 1 of 10 refused, 4 of 9 lost milk.
/// Equation:
///   refused if uniform < refuses
///   milk [-] = milk_drop_multiplier if uniform < milk_drops, else 1
/// Where: refused [-] the whole litter; uniform [-] draw in 0-1, one for each line
/// Valid: nurse sows
/// Source: a Danish study of 10 intermediate nurse sows, authors not recorded; size of the drop assumed
class LitterAdoption {
 public:
  explicit LitterAdoption(const Coefficients& coefficients);

  bool refuses(double uniform) const { return uniform < refuses_; }

  /// Multiplies her milk for the rest of that litter's stay.
  double milk_multiplier(double uniform) const { return uniform < milk_drops_ ? drop_multiplier_ : 1; }

 private:
  double refuses_, milk_drops_, drop_multiplier_;
};

/// Multiplies the milk of a sow whose piglets are of another age than her lactation: milk follows demand.
/// Equation:
///   at_first [-] = clip((weight / usual)^exponent, demand_mismatch.least, demand_mismatch.most)
///   f [-] = 1 + (at_first - 1) * clip(1 - t / demand_mismatch.lasts, 0, 1)
/// Where: weight [kg] mean of the piglets; usual [kg] that her own weigh, or usually weigh, on that day; t [d] since
///   the move
/// Valid: 0.75-1.27
/// Source: King et al. 1997, Livest Prod Sci
class DemandMismatch {
 public:
  explicit DemandMismatch(const Coefficients& coefficients);

  /// expected_kg is what her own piglets weigh, or usually weigh, on that day of lactation.
  double operator()(double piglet_mean_kg, double expected_kg, double days_since_move) const;

 private:
  double exponent_, least_, most_, lasts_d_;
};

/// Probability that a move carries a litter's disease to the new one.
/// Equation:
///   p [-] = min(1, transfer(age) * prevalence / reference_prevalence)
/// Where: age [d] at the move, linear between the table's and held outside; prevalence [-] in the litter it leaves
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
