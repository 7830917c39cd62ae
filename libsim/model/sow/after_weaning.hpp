#pragma once

#include <array>
#include <vector>

#include "libsim/model/sow/parity_table.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// What the time after weaning remembers of a lactation.
struct LactationPast {
  int parity = 3;
  double piglets = 11;           ///< nursed
  double intake_kg_per_day = 6;  ///< mean of the lactation
  double lactation_length_d = 21;
  double weight_loss_pct = 0;  ///< of the weight after farrowing
  double weight_loss_kg_per_day = 0;
  double farrowing_duration_min = 0;
  double early_intake_kg_per_day = 6;  ///< mean of the first two weeks
  bool zero_feed_day_early = false;    ///< a day without eating in the first two weeks
};

/// Weaning-to-oestrus interval. Known to under-state strong feed restriction.
/// Equation:
///   piglets [logit] = per_piglet * (N - per_piglet_centre)
///   length [logit] = per_lactation_day * (clip(L, lactation_day_least, lactation_day_most) - lactation_day_centre)
///   intake [logit] = per_kg_intake * (F - intake_centre[parity])
///   loss [logit] = per_percent_loss * (max(0, WL - loss_threshold[parity]) - loss_centre[parity])
///   shift [logit] = modern_line_multiplier * (piglets + length + intake_and_loss_weight * (intake + loss))
///   usual [-] = first_parity_share if parity = 1, else 'the same with its late part times' later_parity_late_share
///   late [-] = share 'of 7 d and more, its odds in' usual 'times' exp(shift)
///   interval [d] = 'by class: 0-3, 4, 5, 6 and 7-20 d uniform within; 21 d and more'
///     21 + exponential(late_oestrus_mean) 'cut at' latest
/// Where: N [piglets] nursed; L [d] length of the lactation; F [kg/d] mean intake; WL [%] weight lost of that after
///   farrowing; parity [-] of the sow; share [-] a part of 1; the classes within early and late keep their proportions
/// Valid: lactations of 19-28 d; grade C where feed was restricted strongly
/// Source: Iida & Koketsu 2019; Eissen et al. 2003; Thaker & Bilkei 2005; a 196-sow Brazilian study 2015
class WeaningToOestrus {
 public:
  explicit WeaningToOestrus(const Coefficients& coefficients);
  /// Shift of the logit of an interval over 6 d.
  double predictor(const LactationPast& sow) const;
  /// Probabilities of 0-3, 4, 5, 6, 7-20 and 21 d or more.
  std::array<double, 6> class_shares(const LactationPast& sow) const;
  /// The interval [d] at a uniform; it rises with the uniform.
  int operator()(const LactationPast& sow, double uniform) const;

 private:
  double loss_term(const LactationPast& sow) const;
  std::array<double, 6> first_parity_share_{}, later_parity_share_{};
  double per_piglet_, piglet_centre_, per_kg_intake_, per_lactation_day_, day_centre_, shortest_d_, longest_d_;
  double per_percent_loss_;
  ParityTable intake_centre_, loss_threshold_, loss_centre_;
  double shared_weight_, line_multiplier_, late_mean_d_, latest_d_;
};

/// Probability that a service after weaning ends in a farrowing.
/// Equation:
///   rate [-] = clip(base + late + per_percent_loss * max(0, WL - loss_threshold) + heavy, 0, 1)
///   late [-] = interval_6_to_7 if 6 <= days <= 7; interval_8_to_12 if 8 <= days <= 12; else 0
///   heavy [-] = heavy_loss if WL > heavy_loss_above, else 0
///   odds [-] = long_farrowing_odds_ratio * (1 - rate) / rate
///   p [-] = 1 / (1 + odds) if FD > alarm_duration, else rate
/// Where: days [d] weaning to service; WL [%] weight lost of that after farrowing; FD [min] duration of the farrowing
/// Valid: services up to 12 d after weaning; later ones as on time
/// Source: Steverink 1999, from memory; thresholds Thaker & Bilkei 2005; long farrowing Björkman, thesis, Helsinki
class FarrowingRate {
 public:
  explicit FarrowingRate(const Coefficients& coefficients);
  double operator()(const LactationPast& sow, int weaning_to_service_d) const;

 private:
  double base_, at_6_to_7_, at_8_to_12_, per_percent_, loss_threshold_, heavy_, heavy_above_, odds_ratio_, long_min_;
};

/// Change of the next litter's total born with weight loss against the herd's mean.
/// Equation:
///   change [piglets] = slope * (loss - usual)
///   slope [piglets/(kg/d)] = first_parity if parity = 1, else later_parities
/// Where: loss [kg/d] weight lost; usual [kg/d] mean of the herd; parity [-] of the sow
/// Valid: losses about the herd's mean; the source's range is not recorded here
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
///     * (zero_feed_day_odds_ratio if 'a day without eating', else 1)
///   p [-] = odds / (1 + odds)
///   early [-] = 'days 1 to' window_last_day
/// Where: days [d] weaning to service; F [kg/d] mean intake of the early days, in which the day without eating counts
/// Valid: herds that remove about 18 % a parity
/// Source: Koketsu 2018; signs Anil et al. 2006, sizes assumed
class RemovalRisk {
 public:
  explicit RemovalRisk(const Coefficients& coefficients);
  double operator()(const LactationPast& sow, int weaning_to_service_d) const;
  /// Low intake and days without feed count up to this day of lactation.
  int window_last_day() const { return window_last_day_; }

 private:
  double base_, late_, late_from_d_, low_intake_odds_, low_intake_kg_, zero_day_odds_;
  int window_last_day_;
};

}  // namespace farrowtide
