#pragma once

#include <algorithm>

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// What a sow does when she is made to stand up, besides a meal (see MealRules): she drinks and dungs.
/// Equation:
///   drunk [L] = drunk_before + drinks * times_today
///   constipation [-] = max(0, score - constipation_relief * times)
/// Where: drunk_before [L] water of the day without it; times_today, times [-] times made to stand, today once she has
///   learned to drink, and since loading; score [-] of constipation at loading
/// Valid: up to six times a day; she drinks no more than her drinker gives
/// Source: assumption; no trial supports it
class StandingUp {
 public:
  explicit StandingUp(const Coefficients& coefficients)
      : drinks_l_(coefficients.number("sow.standing_up.drinks", "L")),
        constipation_relief_(coefficients.number("sow.standing_up.constipation_relief", "-")) {}
  /// Water drunk each time [L].
  double drinks_l() const { return drinks_l_; }
  /// Score after having been made to stand this often.
  double constipation_score(double score, int times) const {
    return std::max(0.0, score - constipation_relief_ * times);
  }

 private:
  double drinks_l_, constipation_relief_;
};

}  // namespace farrowtide
