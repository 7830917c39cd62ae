#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

enum class Season { other, summer };

/// What a sow's hazard of death depends on.
struct SowLossInputs {
  double since_farrowing_d = 0;  ///< negative before
  int stillborn = 0;             ///< so far
  double farrowing_duration_min = 0;
  Season season = Season::other;
};

/// Death and removal of sows: half of the deaths and more around farrowing, the rest even to weaning (a 121-herd
/// European record; shares and multipliers assumed).
class SowLoss {
 public:
  explicit SowLoss(const Coefficients& coefficients);
  /// Hazard of death [1/d], nothing before the window around farrowing. A sow with nothing special dies within a 21-d
  /// lactation with the probability of the coefficient.
  double per_day(const SowLossInputs& sow) const;
  /// Time until the hazard changes by itself [d], always more than 0; infinity after the last change.
  double next_change_d(double since_farrowing_d) const;
  /// Whether a death on this day was one by prolapse, which is a part of the deaths and not added to them.
  bool is_prolapse(double since_farrowing_d, double uniform) const;
  /// Probability of removal for lameness at weaning (Iida 2020).
  double lameness_removal() const { return lameness_removal_; }

 private:
  double share_of_deaths_before(double since_farrowing_d) const;
  double from_d_, until_d_, lactation_d_, peripartum_share_, cumulative_hazard_;
  double per_stillborn_, summer_, long_farrowing_, long_from_min_;
  double prolapse_from_d_, prolapse_until_d_, prolapse_share_, lameness_removal_;
};

}  // namespace farrowtide
