#pragma once

#include <cstdint>

#include "libsim/kernel/time.hpp"
#include "libsim/model/sow/appetite.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// One meal in whole grams: drawn = eaten + wasted.
struct Meal {
  std::int64_t drawn_g = 0;
  std::int64_t eaten_g = 0;
  std::int64_t wasted_g = 0;
  Duration length{};
};

/// When a sow starts a meal and how much feed she takes from the trough.
/// Equation:
///   threshold [kg] = threshold_size * (appetite / threshold_reference_appetite)^threshold_exponent
///     * exp(threshold_sd * z)
///   meal if pool >= threshold; 'at a delivery' if pool > least_pool_at_delivery;
///     'when made to stand' if pool > least_pool_when_stood_up and uniform < eats_when_stood_up
///   waste [-] = waste_share 'dry', waste_share_wet_bowl 'with water' or waste_share_liquid 'liquid'
///   drawn [kg] = min(pool / (1 - waste), acceptable)
///   eaten [kg] = (1 - waste) * drawn
///   length [min] = drawn / eating_rate
///   forgotten [kg/h] = 0.693 * unmet / unmet_half_life
/// Where: pool [kg] accumulated appetite not yet satisfied; appetite [kg/d] of the day; acceptable [kg] feed that she
///   accepts from the trough; unmet [kg] the pool above her threshold, for want of acceptable feed; z [-] standard
///   normal draw per meal; uniform [-] uniform draw between 0 and 1, one per meal; meal [-] a meal starts
/// Valid: sows with an appetite above 0; feed is in whole grams
/// Source: Quiniou et al. 2000; Renaudeau et al. 2002; waste NRC 2012; half-life and minimum pools assumed
class MealRules {
 public:
  explicit MealRules(const Coefficients& coefficients);

  /// Pool of unsatisfied appetite [kg] at which she starts to eat, from the day's appetite [kg/d] and a standard normal
  /// z. Infinite when she has no appetite.
  double threshold_kg(double appetite_kg_per_day, double z) const {
    return usual_threshold_kg(appetite_kg_per_day) * threshold_spread(z);
  }
  double usual_threshold_kg(double appetite_kg_per_day) const;  ///< its median, of which each meal has a multiple
  double threshold_spread(double z) const;
  bool starts_at_delivery(double pool_kg) const { return pool_kg > least_pool_at_delivery_kg_; }
  /// The uniform draw decides whether a sow that was made to stand also eats.
  bool starts_when_stood_up(double pool_kg, double uniform) const;
  /// What she wants to draw from the trough [kg], of which she wastes a part.
  double wanted_kg(double pool_kg, FeedForm form) const;
  /// The meal she takes, limited by the feed that she accepts. The caller subtracts eaten from the pool, which may end
  /// half a gram below 0.
  Meal meal(double pool_kg, std::int64_t acceptable_g, FeedForm form = FeedForm::dry) const;
  /// Pool [kg] some hours after it was `pool_kg`, with the appetite of these hours and a threshold: without a meal,
  /// what exceeds the threshold is gradually forgotten.
  double pool_later_kg(double pool_kg, double appetite_kg, double hours, double threshold_kg) const;

 private:
  double waste_share(FeedForm form) const;
  double forgotten_per_h_, size_kg_, reference_appetite_kg_, exponent_, sd_log_;
  double least_pool_at_delivery_kg_, least_pool_when_stood_up_kg_, eats_when_stood_up_;
  double waste_dry_, waste_with_water_, waste_liquid_, eating_rate_kg_per_min_;
};

}  // namespace farrowtide
