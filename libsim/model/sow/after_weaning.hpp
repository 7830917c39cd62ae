#pragma once

#include <array>
#include <optional>

#include "libsim/model/curves/parity_table.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Lactation history that affects performance after weaning.
struct LactationPast {
  int parity = 3;
  double piglets = 11;           ///< suckling piglets
  double intake_kg_per_day = 6;  ///< mean over the lactation
  double lactation_length_d = 21;
  double weight_loss_pct = 0;  ///< of body weight after farrowing
  double weight_loss_kg_per_day = 0;
  double farrowing_duration_min = 0;
  double early_intake_kg_per_day = 6;       ///< mean over the first two weeks
  bool zero_feed_day_early = false;         ///< at least one day without feed intake in the first two weeks
  double effective_temperature_deg_c = 20;  ///< mean over the lactation
  bool lame = false;                        ///< when she leaves
};

/// Weaning-to-oestrus interval, and whether she comes into oestrus at all. The odds of every later class against all
/// earlier ones are shifted alike; the last class is no oestrus.
/// Equation:
///   piglets [logit] = per_piglet * (N - per_piglet_centre)
///   length [logit] = per_lactation_day * (clip(L, lactation_day_least, lactation_day_most) - lactation_day_centre)
///   intake [logit] = per_kg_intake[parity] * (F - intake_centre[parity])
///   loss [logit] = per_percent_loss * (max(0, WL - loss_threshold[parity]) - loss_centre[parity])
///   severe [logit] = per_percent_severe_loss[parity] * (max(0, WL - severe_loss_from) - severe_loss_centre[parity])
///   warm [logit] = heat[parity] * max(0, T - heat_from)
///   shift [logit] = piglets + length + intake + loss + severe + warm
///   usual [-] = first_parity_share * (1 - anoestrous_share) 'and' anoestrous_share if parity = 1,
///     else 'the same, late classes multiplied by' later_parity_late_share
///   later [-] = share 'of the classes after any one, with the odds under' usual 'multiplied by' exp(shift)
///   interval [d] = 'by class: 0-3, 4, 5, 6 and 7-20 d uniform within; 21 d or more'
///     21 + exponential(late_oestrus_mean) 'truncated at' latest; 'none in the last class'
/// Where: N [piglets] suckling; L [d] lactation length; F [kg/d] mean feed intake; WL [%] weight loss relative to body
///   weight after farrowing; T [degC] mean effective temperature of the lactation; parity [-] of the sow; share [-]
///   probability; late classes are those of 7 d and more and the last
/// Valid: lactations of 19-28 d; losses of up to a fifth of her weight
/// Source: Iida & Koketsu 2019; Eissen et al. 2003; Thaker & Bilkei 2005; Sulabo et al. 2010; a 241-sow Brazilian study
///   of cooled air; a 196-sow Brazilian study 2015
class WeaningToOestrus {
 public:
  explicit WeaningToOestrus(const Coefficients& coefficients);
  /// Shift in the logit of every later class.
  double predictor(const LactationPast& sow) const;
  /// Probabilities of intervals of 0-3, 4, 5, 6, 7-20 and 21 d or more, and of no oestrus.
  std::array<double, 7> class_shares(const LactationPast& sow) const;
  /// The interval [d] for a uniform draw between 0 and 1, increasing with the draw; empty: she shows no oestrus.
  std::optional<int> operator()(const LactationPast& sow, double uniform) const;

 private:
  double loss_term(const LactationPast& sow) const;
  std::array<double, 7> first_parity_share_{}, later_parity_share_{};
  double per_piglet_, piglet_centre_;
  ParityTable per_kg_intake_;
  double per_lactation_day_, day_centre_, shortest_d_, longest_d_, per_percent_loss_;
  ParityTable per_percent_severe_;
  double severe_from_pct_, heat_from_deg_c_;
  ParityTable intake_centre_, loss_threshold_, loss_centre_, severe_centre_, heat_slope_;
  double late_mean_d_, latest_d_;
};

/// Farrowing rate: the probability that a service after weaning results in a farrowing.
/// Equation:
///   rate [-] = clip(base + late + per_percent_loss * max(0, WL - loss_threshold) + heavy, 0, 1)
///   late [-] = interval_6_to_7 if 6 <= days <= 7; interval_8_to_12 if 8 <= days <= 12; else 0
///   heavy [-] = heavy_loss if WL > heavy_loss_above, else 0
///   odds [-] = long_farrowing_odds_ratio * (1 - rate) / rate
///   p [-] = 1 / (1 + odds) if FD > alarm_duration, else rate
/// Where: days [d] weaning-to-service interval; WL [%] weight loss relative to body weight after farrowing; FD [min]
///   farrowing duration
/// Valid: services up to 12 d after weaning; later services are treated as on time
/// Source: Steverink 1999, from memory; thresholds Thaker & Bilkei 2005; long farrowing Björkman, thesis, Helsinki
class FarrowingRate {
 public:
  explicit FarrowingRate(const Coefficients& coefficients);
  double operator()(const LactationPast& sow, int weaning_to_service_d) const;

 private:
  double base_, at_6_to_7_, at_8_to_12_, per_percent_, loss_threshold_, heavy_, heavy_above_, odds_ratio_, long_min_;
};

/// Change in total born of the next litter with lactation weight loss relative to the herd mean.
/// Equation:
///   change [piglets] = slope * (loss - usual)
///   slope [piglets/(kg/d)] = first_parity if parity = 1, else later_parities
/// Where: loss [kg/d] weight loss; usual [kg/d] herd mean; parity [-] of the sow
/// Valid: losses close to the herd mean; the range of the source is not recorded here
/// Source: Eissen et al. 2003; later parities assumed
class NextTotalBorn {
 public:
  explicit NextTotalBorn(const Coefficients& coefficients);
  double operator()(const LactationPast& sow, double herd_mean_loss_kg_per_day) const;

 private:
  double first_parity_, later_parities_;
};

/// Probability of removal before the next farrowing.
/// Equation:
///   p0 [-] = base + (late_service if days >= late_service_from, else 0)
///   odds [-] = p0 / (1 - p0) * (low_intake_odds_ratio if F <= low_intake_at_most, else 1)
///     * (zero_feed_day_odds_ratio if 'at least one day without feed intake', else 1)
///     * (removal_odds_ratio if lame, else 1) / (1 + prevalence * (removal_odds_ratio - 1))
///   p [-] = odds / (1 + odds) 'if she came into oestrus', else removal.anoestrous
///   early [-] = 'days 1 to' window_last_day
/// Where: days [d] weaning-to-service interval; F [kg/d] mean feed intake over the early days, in which a day without
///   feed intake also counts; lame [-] of LegTrouble
/// Valid: herds with a removal rate of about 18 % per parity
/// Source: Koketsu 2018; directions of effects Anil et al. 2006, sizes assumed
class RemovalRisk {
 public:
  explicit RemovalRisk(const Coefficients& coefficients);
  /// `weaning_to_service_d` is empty for a sow that shows no oestrus.
  double operator()(const LactationPast& sow, std::optional<int> weaning_to_service_d) const;
  /// Low intake and days without feed intake count up to and including this day of lactation.
  int window_last_day() const { return window_last_day_; }

 private:
  double base_, late_, late_from_d_, low_intake_odds_, low_intake_kg_, zero_day_odds_, lame_odds_, usual_lame_odds_,
      anoestrous_;
  int window_last_day_;
};

}  // namespace farrowtide
