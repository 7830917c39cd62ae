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

/// Weaning-to-oestrus interval [d] (Iida & Koketsu 2019; Eissen et al. 2003; Thaker & Bilkei 2005). Grade C where
/// restriction is strong.
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
class FarrowingRate {
 public:
  explicit FarrowingRate(const Coefficients& coefficients);
  double operator()(const LactationPast& sow, int weaning_to_service_d) const;

 private:
  double base_, at_6_to_7_, at_8_to_12_, per_percent_, loss_threshold_, heavy_, heavy_above_, odds_ratio_, long_min_;
};

/// Change of the next litter's total born [piglets] with weight loss against the herd's mean (Eissen et al. 2003).
class NextTotalBorn {
 public:
  explicit NextTotalBorn(const Coefficients& coefficients);
  double operator()(const LactationPast& sow, double herd_mean_loss_kg_per_day) const;

 private:
  double first_parity_, later_parities_;
};

/// Probability of removal before the next farrowing (Koketsu 2018; signs Anil et al. 2006).
class RemovalRisk {
 public:
  explicit RemovalRisk(const Coefficients& coefficients);
  double operator()(const LactationPast& sow, int weaning_to_service_d) const;

 private:
  double base_, late_, late_from_d_, low_intake_odds_, low_intake_kg_, zero_day_odds_;
};

}  // namespace farrowtide
