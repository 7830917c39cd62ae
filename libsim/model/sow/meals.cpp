#include "libsim/model/sow/meals.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace farrowtide {

MealRules::MealRules(const Coefficients& coefficients)
    : carry_over_(coefficients.number("sow.meals.pool.carry_over", "-")),
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

double MealRules::threshold_kg(double appetite_kg_per_day, double z) const {
  if (appetite_kg_per_day <= 0) return std::numeric_limits<double>::infinity();
  return size_kg_ * std::pow(appetite_kg_per_day / reference_appetite_kg_, exponent_) * std::exp(sd_log_ * z);
}

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

Meal MealRules::meal(double pool_kg, std::int64_t edible_g, FeedForm form) const {
  const double eaten_share = 1 - waste_share(form);
  const auto wanted_g = std::llround(std::max(0.0, pool_kg) * 1000 / eaten_share);
  Meal meal;
  meal.drawn_g = std::min<std::int64_t>(wanted_g, edible_g);
  meal.eaten_g = std::llround(eaten_share * static_cast<double>(meal.drawn_g));
  meal.wasted_g = meal.drawn_g - meal.eaten_g;
  meal.length = Duration::from_minutes(static_cast<double>(meal.drawn_g) / 1000 / eating_rate_kg_per_min_);
  return meal;
}

double MealRules::carried_over_kg(double unmet_kg) const { return carry_over_ * std::max(0.0, unmet_kg); }

}  // namespace farrowtide
