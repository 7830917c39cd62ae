#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Whether staff have shown a first-parity sow where to drink and eat.
enum class Teaching { none, trained };

/// How a first-parity sow comes to use an unknown drinker or feeder (common practice; sizes assumed).
class Learning {
 public:
  explicit Learning(const Coefficients& coefficients);
  bool knows_drinker(double uniform) const { return uniform < knows_drinker_; }
  bool knows_feeder(double uniform) const { return uniform < knows_feeder_; }
  /// Hazard of having learned [1/d].
  double rate_per_day(Teaching teaching) const {
    return teaching == Teaching::trained ? trained_per_day_ : alone_per_day_;
  }
  /// Multiplies appetite and water until then.
  double access_until_learned() const { return access_until_learned_; }

 private:
  double knows_drinker_, knows_feeder_, alone_per_day_, trained_per_day_, access_until_learned_;
};

}  // namespace farrowtide
