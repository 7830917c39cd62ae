#include "libsim/model/litter/moving.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {
namespace {

// Positions on the axes "age_at_move" of the coefficients, whose labels are words.
std::size_t growth_class(double age_d) { return age_d < 1 ? 0 : age_d < 3 ? 1 : age_d < 7 ? 2 : 3; }
std::size_t hazard_class(double age_d) { return age_d < 1 ? 0 : age_d < 7 ? 1 : 2; }
constexpr std::size_t second_day = 1, week_or_older = 3;

}  // namespace

MoveEffects::MoveEffects(const Coefficients& coefficients)
    : heavy_{coefficients.number("litter.moving.growth.heavy_at_d2", "-"),
             coefficients.number("litter.moving.growth.heavy_at_d2_lasts", "d")},
      teat_taken_{coefficients.number("litter.moving.growth.preferred_teat_taken", "-")},
      teat_free_{coefficients.number("litter.moving.growth.preferred_teat_free", "-")},
      least_growth_{coefficients.number("litter.moving.growth.least", "-")},
      log_hazard_lasts_d_{coefficients.number("litter.moving.survival.lasts", "d")},
      many_sources_{coefficients.number("litter.moving.survival.many_sources", "log")},
      many_sources_from_{coefficients.number("litter.moving.survival.many_sources_from", "litters")},
      many_sources_below_kg_{coefficients.number("litter.moving.survival.many_sources_weight_below", "kg")} {
  const auto& multiplier = coefficients.table("litter.moving.growth.at_age", "-");
  const auto& lasts_d = coefficients.table("litter.moving.growth.lasts", "d");
  for (std::size_t i = 0; i < growth_.size(); ++i) growth_[i] = {multiplier.at(i), lasts_d.at(i)};
  const auto& log_hazard = coefficients.table("litter.moving.survival.at_age", "log");
  for (std::size_t i = 0; i < log_hazard_.size(); ++i) log_hazard_[i] = log_hazard.at(i);
  const double litter_sd_kg = coefficients.number("litter.birth_weight.litter_sd", "kg");
  const double piglet_sd_kg = coefficients.number("litter.birth_weight.piglet_sd", "kg");
  // Not std::hypot, whose last bit depends on the C library.
  const double weight_sd_kg = std::sqrt(litter_sd_kg * litter_sd_kg + piglet_sd_kg * piglet_sd_kg);
  heavy_from_kg_ = coefficients.number("litter.birth_weight.mean", "kg") +
                   coefficients.number("litter.moving.growth.heavy_from_z", "-") * weight_sd_kg;
}

MoveEffects::GrowthLoss MoveEffects::growth_loss(const Move& move) const {
  const std::size_t place = growth_class(move.age_d);
  if (place == second_day && move.birth_weight_kg >= heavy_from_kg_) return heavy_;
  if (place < week_or_older || move.teat == PreferredTeat::unknown) return growth_[place];
  return {move.teat == PreferredTeat::taken ? teat_taken_ : teat_free_, growth_[place].lasts_d};
}

MoveBurden MoveEffects::operator()(const MoveBurden& before, const Move& move) const {
  const auto [multiplier, lasts_d] = growth_loss(move);
  const double log_hazard = log_hazard_[hazard_class(move.age_d)];
  MoveBurden after{.growth = std::max(least_growth_, before.growth_at(move.age_d) * multiplier),
                   .growth_until_age_d = before.growth_until_age_d,
                   .log_hazard = before.log_hazard_at(move.age_d) + log_hazard,
                   .log_hazard_until_age_d = before.log_hazard_until_age_d};
  if (multiplier < 1) after.growth_until_age_d = std::max(after.growth_until_age_d, move.age_d + lasts_d);
  if (log_hazard > 0)
    after.log_hazard_until_age_d = std::max(after.log_hazard_until_age_d, move.age_d + log_hazard_lasts_d_);
  return after;
}

double MoveEffects::many_sources_log_hazard(int source_litters, double birth_weight_kg) const {
  return source_litters >= many_sources_from_ && birth_weight_kg < many_sources_below_kg_ ? many_sources_ : 0;
}

ResidentEffects::ResidentEffects(const Coefficients& coefficients)
    : multiplier_{coefficients.number("litter.moving.residents.multiplier", "-")},
      strangers_{coefficients.number("litter.moving.residents.strangers", "piglets")},
      after_day_{coefficients.number("litter.moving.residents.after_day", "d")},
      lasts_d_{coefficients.number("litter.moving.residents.lasts", "d")},
      fight_decay_d_{coefficients.number("litter.moving.residents.fight_decay", "d")} {}

double ResidentEffects::growth(int strangers, int lactation_day_of_move, double days_since_move) const {
  const bool disturbed = strangers >= strangers_ && lactation_day_of_move > after_day_ && days_since_move >= 0 &&
                         days_since_move < lasts_d_;
  return disturbed ? multiplier_ : 1;
}

double ResidentEffects::fights(int strangers, double days_since_move) const {
  return strangers * std::exp(-days_since_move / fight_decay_d_);
}

LitterAdoption::LitterAdoption(const Coefficients& coefficients)
    : refuses_{coefficients.number("litter.moving.refusal.refuses", "-")},
      milk_drops_{coefficients.number("litter.moving.refusal.milk_drops", "-")},
      drop_multiplier_{coefficients.number("litter.moving.refusal.milk_drop_multiplier", "-")} {}

DemandMismatch::DemandMismatch(const Coefficients& coefficients)
    : exponent_{coefficients.number("litter.moving.demand_mismatch.exponent", "-")},
      least_{coefficients.number("litter.moving.demand_mismatch.least", "-")},
      most_{coefficients.number("litter.moving.demand_mismatch.most", "-")},
      holds_d_{coefficients.number("litter.moving.demand_mismatch.holds", "d")},
      lasts_d_{coefficients.number("litter.moving.demand_mismatch.lasts", "d")} {}

double DemandMismatch::left(double days_since_move) const {
  return days_since_move <= holds_d_ ? 1.0 : std::max(0.0, (lasts_d_ - days_since_move) / (lasts_d_ - holds_d_));
}

double DemandMismatch::operator()(double piglet_mean_kg, double expected_kg, double days_since_move) const {
  const double at_first = std::clamp(std::pow(piglet_mean_kg / expected_kg, exponent_), least_, most_);
  return 1 + (at_first - 1) * left(days_since_move);
}

DiseaseTransfer::DiseaseTransfer(const Coefficients& coefficients)
    : reference_prevalence_{coefficients.number("litter.moving.disease.reference_prevalence", "-")} {
  const auto& transfer = coefficients.table("litter.moving.disease.transfer", "-");
  const auto& age_d = coefficients.axis("litter.moving.disease.transfer");
  for (std::size_t i = 0; i < transfer_.size(); ++i) {
    age_d_[i] = age_d.at(i);
    transfer_[i] = transfer.at(i);
  }
}

double DiseaseTransfer::probability(double age_d, double source_prevalence) const {
  const double age = std::clamp(age_d, age_d_.front(), age_d_.back());
  const std::size_t to = age <= age_d_[1] ? 1 : 2;
  const double part = (age - age_d_[to - 1]) / (age_d_[to] - age_d_[to - 1]);
  const double at_reference = std::lerp(transfer_[to - 1], transfer_[to], part);
  return std::min(1.0, at_reference * source_prevalence / reference_prevalence_);
}

}  // namespace farrowtide
