#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Whether staff have shown a first-parity sow how to use the drinker and feeder.
enum class Teaching { none, trained };

/// How a first-parity sow learns to use an unfamiliar drinker or feeder.
/// Equation:
///   knows_drinker if uniform < knows_drinker_at_loading
///   knows_feeder if uniform < knows_new_feeder_at_loading
///   rate [1/d] = learning_rate_trained if 'staff have shown her', else learning_rate_alone
///   access [-] = access_until_learned 'of appetite and water intake until she has learned'
/// Where: uniform [-] uniform draw between 0 and 1, one each for drinker and feeder; knows_drinker, knows_feeder [-]
///   at loading; rate is the hazard of learning
/// Valid: first-parity sows
/// Source: assumption, based on common practice
class Learning {
 public:
  explicit Learning(const Coefficients& coefficients);
  bool knows_drinker(double uniform) const { return uniform < knows_drinker_; }
  bool knows_feeder(double uniform) const { return uniform < knows_feeder_; }
  /// Hazard of learning [1/d].
  double rate_per_day(Teaching teaching) const {
    return teaching == Teaching::trained ? trained_per_day_ : alone_per_day_;
  }
  /// Multiplies appetite and water intake until then.
  double access_until_learned() const { return access_until_learned_; }

 private:
  double knows_drinker_, knows_feeder_, alone_per_day_, trained_per_day_, access_until_learned_;
};

}  // namespace farrowtide
