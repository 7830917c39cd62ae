#include "libsim/model/litter/creep_feed.hpp"

#include <cmath>
#include <cstddef>

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

CreepFeed::CreepFeed(const Coefficients& coefficients)
    : sd_{coefficients.number("litter.creep_feed.intake_sd", "log")},
      non_eaters_{coefficients.number("litter.creep_feed.non_eaters", "-")},
      feed_per_gain_{coefficients.number("litter.creep_feed.feed_per_gain", "g/g")} {
  const auto& intake = coefficients.table("litter.creep_feed.intake", "g/d");
  const auto& from_day = coefficients.axis("litter.creep_feed.intake");
  for (std::size_t i = 0; i < intake_g_per_day_.size(); ++i) {
    from_day_[i] = from_day.at(i);
    intake_g_per_day_[i] = intake.at(i);
  }
}

double CreepFeed::intake_g_per_day(int lactation_day, double litter_z) const {
  double median_g = 0;
  for (std::size_t i = 0; i < from_day_.size() && lactation_day >= from_day_[i]; ++i) median_g = intake_g_per_day_[i];
  return median_g * std::exp(sd_ * litter_z);
}

double CreepFeed::gain_kg(double feed_g) const { return feed_g / feed_per_gain_ / 1000; }

}  // namespace farrowtide
