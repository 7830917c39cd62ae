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

/// What being moved costs a piglet, by its age (0-28 d). Growth: Horrell & Bennett 1981; Heim et al. 2012, Livest Sci
/// 150:121; Zhang et al. 2021, Animals 11:499. Deaths: assumed.
///
/// That moved piglets die less in records is selection, and no effect here.
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

/// What the piglets of a litter that gets strangers lose (direction published, sizes assumed).
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

/// How a sow takes a whole foster litter after her own was weaned: 1 of 10 refused, 4 of 9 lost milk (Danish study of
/// intermediate nurse sows). Each uniform is a draw of its own.
class LitterAdoption {
 public:
  explicit LitterAdoption(const Coefficients& coefficients);

  bool refuses(double uniform) const { return uniform < refuses_; }

  /// Multiplies her milk for the rest of that litter's stay.
  double milk_multiplier(double uniform) const { return uniform < milk_drops_ ? drop_multiplier_ : 1; }

 private:
  double refuses_, milk_drops_, drop_multiplier_;
};

/// Multiplies the milk of a sow whose piglets are of another age than her lactation: milk follows demand (0.75-1.27).
/// Returns to 1 in a straight line. King et al. 1997, Livest Prod Sci.
class DemandMismatch {
 public:
  explicit DemandMismatch(const Coefficients& coefficients);

  /// expected_kg is what her own piglets weigh, or usually weigh, on that day of lactation.
  double operator()(double piglet_mean_kg, double expected_kg, double days_since_move) const;

 private:
  double exponent_, least_, most_, lasts_d_;
};

/// Probability that a move carries a litter's disease to the new one, by age at the move (1-10 d, held outside), in
/// proportion to the prevalence in the litter it leaves. Mason et al. 2014, J Anim Sci abstract (d10); rest assumed.
class DiseaseTransfer {
 public:
  explicit DiseaseTransfer(const Coefficients& coefficients);
  double probability(double age_d, double source_prevalence) const;

 private:
  std::array<double, 3> age_d_, transfer_;
  double reference_prevalence_;
};

}  // namespace farrowtide
