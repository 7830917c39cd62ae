#include "libsim/model/sow/meals.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace farrowtide {

MealRules::MealRules(const Coefficients& coefficients)
    : forgotten_per_h_(std::numbers::ln2 / coefficients.number("sow.meals.pool.unmet_half_life", "h")),
      size_kg_(coefficients.number("sow.meals.pool.threshold_size", "kg")),
      reference_appetite_kg_(coefficients.number("sow.meals.pool.threshold_reference_appetite", "kg/d")),
      exponent_(coefficients.number("sow.meals.pool.threshold_exponent", "-")),
      sd_log_(coefficients.number("sow.meals.pool.threshold_sd", "log")),
      least_pool_at_delivery_kg_(coefficients.number("sow.meals.pool.least_pool_at_delivery", "kg")),
      least_pool_when_stood_up_kg_(coefficients.number("sow.meals.pool.least_pool_when_stood_up", "kg")),
      eats_when_stood_up_(coefficients.number("sow.meals.pool.eats_when_stood_up", "-")),
      waste_dry_(coefficients.number("sow.meals.waste_share", "-")),
      waste_with_water_(coefficients.number("sow.meals.waste_share_wet_bowl", "-")),
      waste_liquid_(coefficients.number("sow.meals.waste_share_liquid", "-")),
      eating_rate_kg_per_min_(coefficients.number("sow.meals.eating_rate", "kg/min")) {}

double MealRules::usual_threshold_kg(double appetite_kg_per_day) const {
  if (appetite_kg_per_day <= 0) return std::numeric_limits<double>::infinity();
  return size_kg_ * std::pow(appetite_kg_per_day / reference_appetite_kg_, exponent_);
}

double MealRules::threshold_spread(double z) const { return std::exp(sd_log_ * z); }

bool MealRules::starts_when_stood_up(double pool_kg, double uniform) const {
  return pool_kg > least_pool_when_stood_up_kg_ && uniform < eats_when_stood_up_;
}

double MealRules::waste_share(FeedForm form) const {
  switch (form) {
    case FeedForm::dry:
      return waste_dry_;
    case FeedForm::with_water:
      return waste_with_water_;
    case FeedForm::liquid:
      return waste_liquid_;
  }
  return waste_dry_;
}

double MealRules::wanted_kg(double pool_kg, FeedForm form) const {
  return std::max(0.0, pool_kg) / (1 - waste_share(form));
}

Meal MealRules::meal(double pool_kg, std::int64_t acceptable_g, FeedForm form) const {
  Meal meal;
  meal.drawn_g = std::min<std::int64_t>(std::llround(wanted_kg(pool_kg, form) * 1000), acceptable_g);
  meal.eaten_g = std::llround((1 - waste_share(form)) * static_cast<double>(meal.drawn_g));
  meal.wasted_g = meal.drawn_g - meal.eaten_g;
  meal.length = Duration::from_minutes(static_cast<double>(meal.drawn_g) / 1000 / eating_rate_kg_per_min_);
  return meal;
}

double MealRules::pool_later_kg(double pool_kg, double appetite_kg, double hours, double threshold_kg) const {
  const double without_loss_kg = pool_kg + appetite_kg;
  if (without_loss_kg <= threshold_kg || hours <= 0) return without_loss_kg;
  const double below_kg = std::max(0.0, threshold_kg - pool_kg), unmet_kg = std::max(0.0, pool_kg - threshold_kg);
  const double hours_above = hours * (appetite_kg > 0 ? 1 - below_kg / appetite_kg : 1);
  const double kept = std::exp(-forgotten_per_h_ * hours_above);
  return threshold_kg + unmet_kg * kept + appetite_kg / hours / forgotten_per_h_ * (1 - kept);
}

}  // namespace farrowtide
