#include "libsim/model/litter/birth_weight.hpp"

#include <algorithm>
#include <cmath>

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

BirthWeight::BirthWeight(const Coefficients& coefficients)
    : mean_kg_{coefficients.number("litter.birth_weight.mean", "kg")},
      size_slope_kg_{coefficients.number("litter.birth_weight.size_slope", "kg/piglet")},
      size_centre_{coefficients.number("litter.birth_weight.size_centre", "piglets")},
      first_parity_kg_{coefficients.number("litter.birth_weight.first_parity", "kg")},
      litter_sd_kg_{coefficients.number("litter.birth_weight.litter_sd", "kg")},
      piglet_sd_kg_{coefficients.number("litter.birth_weight.piglet_sd", "kg")},
      spread_size_slope_{coefficients.number("litter.birth_weight.spread_size_slope", "1/piglet")},
      spread_litter_sd_{coefficients.number("litter.birth_weight.spread_litter_sd", "log")},
      least_kg_{coefficients.number("litter.birth_weight.least", "kg")},
      most_kg_{coefficients.number("litter.birth_weight.most", "kg")} {}

BirthWeight BirthWeight::of(double mean_kg, double piglet_sd_kg) const {
  BirthWeight own = *this;
  own.mean_kg_ = mean_kg;
  own.piglet_sd_kg_ = piglet_sd_kg;
  return own;
}

double BirthWeight::litter_mean_kg(double born_alive, int parity, double litter_z) const {
  return mean_kg_ - size_slope_kg_ * (born_alive - size_centre_) - (parity == 1 ? first_parity_kg_ : 0.0) +
         litter_sd_kg_ * litter_z;
}

double BirthWeight::spread_kg(double litter_mean_kg, double born_alive, double spread_z) const {
  return piglet_sd_kg_ * litter_mean_kg / mean_kg_ *
         std::exp(spread_size_slope_ * (born_alive - size_centre_) + spread_litter_sd_ * spread_z -
                  spread_litter_sd_ * spread_litter_sd_ / 2);
}

double BirthWeight::operator()(double litter_mean_kg, double spread_kg, double piglet_z, double runt_deficit_kg) const {
  return std::clamp(litter_mean_kg + spread_kg * piglet_z - runt_deficit_kg, least_kg_, most_kg_);
}

Runts::Runts(const Coefficients& coefficients)
    : probability_{coefficients.number("litter.birth_weight.runt_probability", "-")},
      large_litter_multiplier_{
          coefficients.number("litter.birth_weight.runt_probability_large_litter_multiplier", "-")},
      large_litter_above_{coefficients.number("litter.birth_weight.runt_large_litter_above", "piglets")},
      deficit_kg_{coefficients.number("litter.birth_weight.runt_deficit", "kg")} {}

double Runts::deficit_kg(double born_alive, double uniform) const {
  const double probability = probability_ * (born_alive > large_litter_above_ ? large_litter_multiplier_ : 1);
  return uniform < probability ? deficit_kg_ : 0;
}

NewbornTraits::NewbornTraits(const Coefficients& coefficients)
    : male_share_{coefficients.number("litter.birth_weight.male_share", "-")},
      splay_legged_share_{coefficients.number("litter.birth_weight.splay_legged", "-")} {}

}  // namespace farrowtide
