#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Loss of appetite when a sow's litter is handled or changed, and the cost of late processing. Processing needs pain
/// relief where required by local law; the herd veterinarian advises.
/// Equation:
///   one [-] = drop * (processing_late_drop_multiplier if late, else 1)
///   lost [-] = larger + second_event_share * smaller * (1 - larger)
///   appetite [-] = 1 - lost
///   lasts [h] = least_duration + (most_duration - least_duration) * uniform
///   late if d >= processing_late_from_day
///   gain [-] = processing_late_gain_multiplier if late, else 1, 'for' processing_late_gain_lasts
/// Where: larger, smaller [-] share lost already and by a further event before she has calmed down (0 without one); d
/// [d] day of lactation at processing; uniform [-] uniform draw
///   between 0 and 1, one per event; late [-] processed late
/// Valid: any disturbance of the litter; a drop of 0 disables the effect
/// Source: common practice, no source; late processing assumed
class HandlingEffect {
 public:
  explicit HandlingEffect(const Coefficients& coefficients);
  /// Share of appetite lost by one event.
  double drop() const { return drop_; }
  /// Share of appetite lost after a further event.
  double together(double lost, double by_this_event) const;
  /// Duration of the drop [h].
  double duration_h(double uniform) const { return least_h_ + (most_h_ - least_h_) * uniform; }

  bool is_late_processing(int lactation_day) const { return lactation_day >= late_from_day_; }
  /// Multiplies drop() when the litter is processed on this day.
  double processing_drop_multiplier(int lactation_day) const {
    return is_late_processing(lactation_day) ? late_drop_multiplier_ : 1;
  }
  /// Multiplies litter gain for late_processing_lasts_d() after late processing.
  double late_processing_gain_multiplier() const { return late_gain_multiplier_; }
  double late_processing_lasts_d() const { return late_lasts_d_; }

 private:
  double drop_, least_h_, most_h_, late_from_day_, late_drop_multiplier_, late_gain_multiplier_, late_lasts_d_;
  double second_share_;
};

}  // namespace farrowtide
