#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Appetite a sow loses when her litter is handled or changed, and what late processing costs. Processing needs pain
/// relief where local law asks for it; the herd veterinarian advises.
/// Equation:
///   appetite [-] = 1 - drop * (processing_late_drop_multiplier if late, else 1)
///   lasts [h] = least_duration + (most_duration - least_duration) * uniform
///   late if d >= processing_late_from_day
///   gain [-] = processing_late_gain_multiplier if late, else 1, 'for' processing_late_gain_lasts
/// Where: d [d] day of lactation at processing; uniform [-] draw in 0-1, of the event; late [-] processed late
/// Valid: any event in the litter; drop 0 turns it off
/// Source: common practice, no source; late processing assumed
class HandlingEffect {
 public:
  explicit HandlingEffect(const Coefficients& coefficients);
  /// Part of her appetite that is lost.
  double drop() const { return drop_; }
  /// For how long [h].
  double duration_h(double uniform) const { return least_h_ + (most_h_ - least_h_) * uniform; }

  bool is_late_processing(int lactation_day) const { return lactation_day >= late_from_day_; }
  /// Multiplies drop() when the litter is processed on this day.
  double processing_drop_multiplier(int lactation_day) const {
    return is_late_processing(lactation_day) ? late_drop_multiplier_ : 1;
  }
  /// Multiplies the litter's gain for late_processing_lasts_d() after a late processing.
  double late_processing_gain_multiplier() const { return late_gain_multiplier_; }
  double late_processing_lasts_d() const { return late_lasts_d_; }

 private:
  double drop_, least_h_, most_h_, late_from_day_, late_drop_multiplier_, late_gain_multiplier_, late_lasts_d_;
};

}  // namespace farrowtide
