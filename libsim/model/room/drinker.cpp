#include "libsim/model/room/drinker.hpp"

#include <cmath>

namespace farrowtide {

DrinkerRules::DrinkerRules(const Coefficients& coefficients)
    : partial_blockage_per_day_(coefficients.number("room.drinkers.partial_block_hazard", "1/d")),
      full_blockage_per_day_(coefficients.number("room.drinkers.full_block_hazard", "1/d")),
      partial_blockage_flow_share_(coefficients.number("room.drinkers.partial_block_flow_share", "-")) {}

double DrinkerRules::flow_l_per_min(double mean_l_per_min, double cv, double z) const {
  const double log_variance = std::log1p(cv * cv);
  return mean_l_per_min * std::exp(std::sqrt(log_variance) * z - log_variance / 2);
}

}  // namespace farrowtide
