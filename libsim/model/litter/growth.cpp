#include "libsim/model/litter/growth.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "libsim/kernel/errors.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {
namespace {

constexpr double kilo = 1000;

struct Mouth {
  double pull, limit_kg;
  bool full;
};

/// Gives every piglet its part of `left_kg` by pull, up to its limit; returns the remainder. When one piglet reaches
/// its limit, the others are only offered more, so the order does not matter.
double fill(double left_kg, double pull, std::span<Mouth> mouths, std::span<double> gain_kg) {
  for (std::size_t open = mouths.size(), before = open + 1; open < before;) {
    before = open;
    for (std::size_t i = 0; i < mouths.size(); ++i) {
      Mouth& mouth = mouths[i];
      if (mouth.full || mouth.limit_kg * pull > left_kg * mouth.pull) continue;
      mouth.full = true;
      gain_kg[i] = mouth.limit_kg;
      left_kg -= mouth.limit_kg;
      pull -= mouth.pull;
      --open;
    }
    if (open == 0) return std::max(0.0, left_kg);
  }
  for (std::size_t i = 0; i < mouths.size(); ++i) {
    if (!mouths[i].full) gain_kg[i] = left_kg * mouths[i].pull / pull;
  }
  return 0;
}

}  // namespace

LitterGain::LitterGain(const Coefficients& coefficients)
    : kcal_per_g_{coefficients.number("sow.milk.potential.energy_per_litter_gain", "kcal/g")},
      kcal_per_piglet_{coefficients.number("sow.milk.potential.energy_per_piglet", "kcal/d/piglet")},
      floor_g_per_day_{coefficients.number("litter.growth.litter_gain_floor", "g/d")} {}

double LitterGain::operator()(double milk_mcal_per_day, double piglets) const {
  const double g_per_day = (kilo * milk_mcal_per_day + kcal_per_piglet_ * piglets) / kcal_per_g_;
  return std::max(floor_g_per_day_, g_per_day) / kilo;
}

double LitterGain::milk_mcal(double gain_kg_per_day, double piglets) const {
  return std::max(0.0, kcal_per_g_ * gain_kg_per_day - kcal_per_piglet_ * piglets / kilo);
}

GainSharing::GainSharing(const Coefficients& coefficients)
    : weight_exponent_{coefficients.number("litter.growth.share_weight_exponent", "-")},
      teat_sd_{coefficients.number("litter.growth.share_teat_sd", "log")},
      teat_bound_{coefficients.number("litter.growth.teat_bound", "-")},
      teat_most_kg_{coefficients.number("litter.growth.teat_most_gain", "kg/d")},
      most_gain_kg_{coefficients.number("litter.growth.most_gain", "kg/d")},
      most_gain_exponent_{coefficients.number("litter.growth.most_gain_exponent", "-")} {}

double GainSharing::most_kg(double weight_kg) const { return most_gain_kg_ * std::pow(weight_kg, most_gain_exponent_); }

double GainSharing::operator()(double litter_gain_kg, std::span<const GainClaim> claims,
                               std::span<double> gain_kg) const {
  if (claims.size() != gain_kg.size()) throw InternalError("GainSharing: claims and gains differ in number");
  if (claims.empty()) return litter_gain_kg;
  double pull_sum = 0;
  std::vector<Mouth> mouths;
  mouths.reserve(claims.size());
  for (const GainClaim& claim : claims) {
    const double own = std::exp(claim.teat_effect);
    const double pull = std::pow(claim.weight_kg, weight_exponent_) * own;
    mouths.push_back({pull, std::min(most_kg(claim.weight_kg) * own, teat_most_kg_), false});
    pull_sum += pull;
  }
  double left_kg = litter_gain_kg;
  std::vector<double> own_kg(claims.size());
  for (std::size_t i = 0; i < claims.size(); ++i) {
    const double fair_kg = litter_gain_kg * mouths[i].pull / pull_sum;
    own_kg[i] = std::min(1.0, claims[i].hindrance) * std::min(fair_kg, mouths[i].limit_kg);
    mouths[i].limit_kg = claims[i].hindrance < 1 ? 0 : mouths[i].limit_kg - own_kg[i];
    left_kg -= own_kg[i];
  }
  const double bound_kg = teat_bound_ * std::max(0.0, left_kg);
  const double unused_kg = bound_kg + fill(std::max(0.0, left_kg) - bound_kg, pull_sum, mouths, gain_kg);
  for (std::size_t i = 0; i < claims.size(); ++i) gain_kg[i] += own_kg[i];
  return unused_kg;
}

}  // namespace farrowtide
