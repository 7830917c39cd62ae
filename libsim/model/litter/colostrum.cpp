#include "libsim/model/litter/colostrum.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "libsim/model/curves/parity_class.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {
namespace {

constexpr double grams_a_kg = 1000;

}  // namespace

ColostrumYield::ColostrumYield(const Coefficients& coefficients) {
  const auto sow = coefficients.group("litter.colostrum.sow_yield");
  mean_g_ = sow.number("mean", "g");
  sd_g_ = sow.number("sd", "g");
  size_slope_ = sow.number("size_slope", "1/piglet");
  size_centre_ = sow.number("size_centre", "piglets");
  const auto& by_parity = sow.table("parity_factor", "-");
  std::copy_n(by_parity.begin(), parity_factor_.size(), parity_factor_.begin());
  weight_exponent_ = sow.number("weight_exponent", "-");
  weight_centre_kg_ = sow.number("weight_centre", "kg");
  duration_slope_g_ = sow.number("duration_slope", "g/min");
  duration_from_min_ = sow.number("duration_from", "min");
  duration_least_min_ = sow.number("duration_least", "min");
  duration_most_min_ = sow.number("duration_most", "min");
  floor_g_ = sow.number("floor", "g");
  assisted_ = sow.number("assisted_multiplier", "-");
}

double ColostrumYield::operator()(double born_alive, double litter_mean_kg, int parity, double farrowing_duration_min,
                                  double z) const {
  const double undisturbed = (mean_g_ + sd_g_ * z) * (1 + size_slope_ * (born_alive - size_centre_)) *
                             std::pow(litter_mean_kg / weight_centre_kg_, weight_exponent_) *
                             parity_factor_[parity_class(parity)];
  const double longer_min =
      std::clamp(farrowing_duration_min - duration_from_min_, duration_least_min_, duration_most_min_);
  return std::max(floor_g_, undisturbed - duration_slope_g_ * longer_min);
}

ColostrumChill::ColostrumChill(const Coefficients& coefficients)
    : slope_per_k_{coefficients.number("litter.colostrum.chill.slope", "1/K")},
      critical_deg_c_{coefficients.number("litter.colostrum.chill.critical_temperature", "degC")},
      newborn_offset_k_{coefficients.number("room.micro_climate.newborn", "K")},
      reference_{coefficients.number("litter.colostrum.chill.reference", "-")},
      most_{coefficients.number("litter.colostrum.chill.most", "-")} {}

double ColostrumChill::operator()(double room_deg_c) const {
  const double too_cold_k = std::max(0.0, critical_deg_c_ - (room_deg_c + newborn_offset_k_));
  return std::min(most_, (1 - slope_per_k_ * too_cold_k) / reference_);
}

ColostrumSharing::ColostrumSharing(const Coefficients& coefficients)
    : weight_exponent_{coefficients.number("litter.colostrum.share.weight_exponent", "-")},
      sd_{coefficients.number("litter.colostrum.share.sd", "log")},
      birth_order_{coefficients.number("litter.colostrum.share.birth_order", "-")},
      splay_{coefficients.number("litter.colostrum.share.splay_multiplier", "-")},
      rate_per_h_{coefficients.number("litter.colostrum.delivery.rate", "1/h")},
      duration_h_{coefficients.number("litter.colostrum.delivery.duration", "h")},
      expm1_of_all_{std::expm1(-rate_per_h_ * duration_h_)},
      cap_g_per_kg_{coefficients.number("litter.colostrum.cap_per_kg", "g/kg")},
      cap_g_{coefficients.number("litter.colostrum.cap_constant", "g")} {}

double ColostrumSharing::share_weight(double weight_kg, double z, int birth_rank, int total_born,
                                      bool splay_legged) const {
  return std::pow(weight_kg, weight_exponent_) * std::exp(sd_ * z) *
         (1 - birth_order_ * static_cast<double>(birth_rank) / total_born) * (splay_legged ? splay_ : 1.0);
}

double ColostrumSharing::delivered(double age_h) const {
  if (age_h >= duration_h_) return 1;
  return std::expm1(-rate_per_h_ * std::max(age_h, 0.0)) / expm1_of_all_;
}

double ColostrumSharing::pull_of_all(const ColostrumShares& shares) const {
  double pull = 0;
  double mouths = 0;
  for (const Suckler& piglet : shares.piglets) {
    pull += piglet.share_weight;
    mouths += piglet.share_weight > 0 ? 1 : 0;
  }
  return mouths > 0 ? pull * (1 + shares.mouths_to_come / mouths) : 1.0;  // nobody suckles: any non-zero sum will do
}

void ColostrumSharing::advance(ColostrumShares& shares, double now_h) const {
  if (now_h == shares.at_h) return;
  const double g_a_weight = g_per_weight(shares);
  for (Suckler& piglet : shares.piglets) {
    const double delivered_before = std::exchange(piglet.delivered, delivered(now_h - piglet.clock_start_h));
    const double room_g = std::max(0.0, piglet.cap_g - piglet.drunk_g);
    piglet.drunk_g += std::min(room_g, g_a_weight * piglet.share_weight * (piglet.delivered - delivered_before));
  }
  shares.at_h = now_h;
}

std::size_t ColostrumSharing::join(ColostrumShares& shares, double now_h, const Suckler& piglet) const {
  advance(shares, now_h);
  shares.piglets.push_back(piglet);
  shares.piglets.back().delivered = delivered(now_h - piglet.clock_start_h);
  return shares.piglets.size() - 1;
}

double ColostrumSharing::leave(ColostrumShares& shares, double now_h, std::size_t slot) const {
  advance(shares, now_h);
  shares.piglets.at(slot).share_weight = 0;
  return shares.piglets[slot].drunk_g;
}

double ColostrumSharing::projected_g(const Suckler& piglet, double g_per_weight) const {
  const double rest_g = g_per_weight * piglet.share_weight * (1 - piglet.delivered);
  return std::max(piglet.drunk_g, std::min(piglet.cap_g, piglet.drunk_g + rest_g));
}

TheilIntake::TheilIntake(const Coefficients& coefficients)
    : a_{coefficients.number("litter.colostrum_equations.theil.a", "g")},
      gain_{coefficients.number("litter.colostrum_equations.theil.gain", "-")},
      weight_{coefficients.number("litter.colostrum_equations.theil.weight", "g/kg")},
      duration_{coefficients.number("litter.colostrum_equations.theil.duration", "g/min")},
      gain_per_duration_{coefficients.number("litter.colostrum_equations.theil.gain_per_duration", "min")},
      gain_per_weight_{coefficients.number("litter.colostrum_equations.theil.gain_per_weight", "kg")} {}

double TheilIntake::operator()(double birth_weight_kg, double gain_g, double suckled_min) const {
  return a_ + gain_ * gain_g + weight_ * birth_weight_kg + duration_ * suckled_min +
         gain_per_duration_ * gain_g / suckled_min + gain_per_weight_ * gain_g / birth_weight_kg;
}

DevillersIntake::DevillersIntake(const Coefficients& coefficients)
    : a_{coefficients.number("litter.colostrum_equations.devillers.a", "g")},
      time_{coefficients.number("litter.colostrum_equations.devillers.time", "g/min")},
      ratio_{coefficients.number("litter.colostrum_equations.devillers.ratio", "g min/kg")},
      weight_{coefficients.number("litter.colostrum_equations.devillers.weight", "g/kg")},
      first_a_{coefficients.number("litter.colostrum_equations.devillers.first_a", "-")},
      first_b_{coefficients.number("litter.colostrum_equations.devillers.first_b", "1/min")},
      first_c_{coefficients.number("litter.colostrum_equations.devillers.first_c", "1/min^2")} {}

double DevillersIntake::operator()(double birth_weight_kg, double gain_g, double age_min, double first_suck_min) const {
  const double weight_now_kg = birth_weight_kg + gain_g / grams_a_kg;
  const double lateness = first_a_ + first_b_ * first_suck_min + first_c_ * first_suck_min * first_suck_min;
  return a_ + time_ * age_min + ratio_ * weight_now_kg / age_min +
         birth_weight_kg * (weight_ - ratio_ / age_min) * lateness;
}

}  // namespace farrowtide
