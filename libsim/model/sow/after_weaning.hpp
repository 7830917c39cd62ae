#pragma once

#include <array>
#include <vector>

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
  double early_intake_kg_per_day = 6;  ///< mean over the first two weeks
  bool zero_feed_day_early = false;    ///< at least one day without feed intake in the first two weeks
};

/// Weaning-to-oestrus interval. Known to underestimate the effect of severe feed restriction.
/// Equation:
///   piglets [logit] = per_piglet * (N - per_piglet_centre)
///   length [logit] = per_lactation_day * (clip(L, lactation_day_least, lactation_day_most) - lactation_day_centre)
///   intake [logit] = per_kg_intake * (F - intake_centre[parity])
///   loss [logit] = per_percent_loss * (max(0, WL - loss_threshold[parity]) - loss_centre[parity])
///   shift [logit] = modern_line_multiplier * (piglets + length + intake_and_loss_weight * (intake + loss))
///   usual [-] = first_parity_share if parity = 1, else 'the same, late classes multiplied by' later_parity_late_share
///   late [-] = share 'of 7 d or more, with the odds under' usual 'multiplied by' exp(shift)
///   interval [d] = 'by class: 0-3, 4, 5, 6 and 7-20 d uniform within; 21 d or more'
///     21 + exponential(late_oestrus_mean) 'truncated at' latest
/// Where: N [piglets] suckling; L [d] lactation length; F [kg/d] mean feed intake; WL [%] weight loss relative to body
///   weight after farrowing; parity [-] of the sow; share [-] probability; the proportions of the classes within early
///   and within late stay the same
/// Valid: lactations of 19-28 d; grade C under severe feed restriction
/// Source: Iida & Koketsu 2019; Eissen et al. 2003; Thaker & Bilkei 2005; a 196-sow Brazilian study 2015
class WeaningToOestrus {
 public:
  explicit WeaningToOestrus(const Coefficients& coefficients);
  /// Shift in the logit of an interval longer than 6 d.
  double predictor(const LactationPast& sow) const;
  /// Probabilities of intervals of 0-3, 4, 5, 6, 7-20 and 21 d or more.
  std::array<double, 6> class_shares(const LactationPast& sow) const;
  /// The interval [d] for a uniform draw between 0 and 1; increases with the draw.
  int operator()(const LactationPast& sow, double uniform) const;

 private:
  double loss_term(const LactationPast& sow) const;
  std::array<double, 6> first_parity_share_{}, later_parity_share_{};
  double per_piglet_, piglet_centre_, per_kg_intake_, per_lactation_day_, day_centre_, shortest_d_, longest_d_;
  double per_percent_loss_;
  ParityTable intake_centre_, loss_threshold_, loss_centre_;
  double shared_weight_, line_multiplier_, late_mean_d_, latest_d_;
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
///   p [-] = odds / (1 + odds)
///   early [-] = 'days 1 to' window_last_day
/// Where: days [d] weaning-to-service interval; F [kg/d] mean feed intake over the early days, in which a day without
///   feed intake also counts
/// Valid: herds with a removal rate of about 18 % per parity
/// Source: Koketsu 2018; directions of effects Anil et al. 2006, sizes assumed
class RemovalRisk {
 public:
  explicit RemovalRisk(const Coefficients& coefficients);
  double operator()(const LactationPast& sow, int weaning_to_service_d) const;
  /// Low intake and days without feed intake count up to and including this day of lactation.
  int window_last_day() const { return window_last_day_; }

 private:
  double base_, late_, late_from_d_, low_intake_odds_, low_intake_kg_, zero_day_odds_;
  int window_last_day_;
};

}  // namespace farrowtide
