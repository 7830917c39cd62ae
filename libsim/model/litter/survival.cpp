#include "libsim/model/litter/survival.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include <Eigen/Core>

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {
namespace {

constexpr double never = std::numeric_limits<double>::infinity();
constexpr PerCause none{};
constexpr PerCause out_of_reach{never, never, never, never};

// Names of the age intervals, in the order of the tables.
enum AgeIndex : std::size_t { first_24_h, second_24_h, d2_to_3, d4_to_7, from_d8 };

constexpr std::size_t number_of_causes = NameTable<DeathCause>::size;
constexpr std::size_t at(DeathCause cause) { return static_cast<std::size_t>(cause); }

// When a piglet dies of each cause at these rates [d]. What is overdue because of rounding is due immediately.
PerCause after_d(const PerCause& left, const PerCause& per_d) {
  PerCause after{};
  for (std::size_t cause = 0; cause < number_of_causes; ++cause)
    after[cause] = std::max(0.0, left[cause] / per_d[cause]);
  return after;
}

// The numbers of all slots in a row, each slot's in the order of DeathCause; not of a litter without slots.
Eigen::Map<Eigen::ArrayXd> in_a_row(std::vector<PerCause>& slots) {
  return {slots.front().data(), static_cast<Eigen::Index>(slots.size() * number_of_causes)};
}

}  // namespace

Frailty::Frailty(const Coefficients& coefficients)
    : phase_sd_{coefficients.number("litter.survival.frailty.phase_sd", "log")},
      late_phase_sd_{coefficients.number("litter.survival.frailty.late_phase_sd", "log")} {
  const double litter_sd = coefficients.number("litter.survival.frailty.litter_sd", "log");
  const double birth_share = coefficients.number("litter.survival.frailty.birth_share", "-");
  birth_sd_ = litter_sd * std::sqrt(birth_share);
  rear_sd_ = litter_sd * std::sqrt(1 - birth_share);
}

Survival::Survival(const Coefficients& coefficients) {
  read_ages(coefficients);
  read_hazard(coefficients);
  read_modifiers(coefficients);
  lame_crushing_ = coefficients.number("sow.legs.crushing_hazard_ratio", "-");
  ill_crushing_ = coefficients.number("sow.post_partum_disorder.while_ill.crushing_hazard_ratio", "-");
  ill_starving_ = coefficients.number("sow.post_partum_disorder.while_ill.starvation_hazard_ratio", "-");
  low_drinker_starving_ = coefficients.number("sow.water.low_drinker.starvation_hazard_ratio", "-");
  bad_start_starving_ = coefficients.number("sow.milk.litter_start.bad_start_starvation_ratio", "-");
  scours_extra_ = coefficients.number("litter.scours.extra_hazard", "-");
}

void Survival::read_ages(const Coefficients& coefficients) {
  const auto hazard = coefficients.group("litter.survival.hazard");
  const auto causes = coefficients.group("litter.survival.causes");
  const auto& base = hazard.table("base", "-");
  const auto& length_d = hazard.table("duration", "d");
  const auto& colostrum_weight = hazard.table("colostrum_weight", "-");
  const auto& crushed = causes.table("crushed", "-");
  const auto& starved = causes.table("starved_or_weak", "-");
  const auto& other = causes.table("other", "-");
  double begins_d = 0;
  for (std::size_t i = 0; i < survival_ages; ++i) {
    const PerCause share{crushed.at(i), starved.at(i), 0, other.at(i)};
    ages_[i] = {begins_d, length_d.at(i), base.at(i) / length_d.at(i), colostrum_weight.at(i), share};
    begins_d += length_d[i];
  }
}

void Survival::read_hazard(const Coefficients& coefficients) {
  const auto hazard = coefficients.group("litter.survival.hazard");
  light_slope_ = hazard.number("light_slope", "log/kg");
  heavy_slope_ = hazard.number("heavy_slope", "log/kg");
  weight_knee_kg_ = hazard.number("weight_knee", "kg");
  colostrum_per_g_ = hazard.number("colostrum_slope", "log/100 g") / 100;  // the unit of the file is 100 g
  colostrum_knee_g_ = hazard.number("colostrum_knee", "g");
  competition_per_kg_ = coefficients.number("litter.survival.frailty.competition", "log/kg");
}

void Survival::read_modifiers(const Coefficients& coefficients) {
  const auto modifiers = coefficients.group("litter.survival.modifiers");
  male_ = modifiers.number("male", "log");
  female_ = modifiers.number("female", "log");
  surplus_ = modifiers.number("surplus_piglet", "log/piglet");
  pen_ratio_ = std::exp(modifiers.number("pen", "log"));
  old_sow_ratio_ = std::exp(modifiers.number("parity_6_and_later", "log"));
  splay_legged_ = modifiers.number("splay_legged", "log");
  const auto& first_parity = modifiers.table("first_parity", "log");
  std::copy_n(first_parity.begin(), first_parity_.size(), first_parity_.begin());
  gestation_per_d_ = modifiers.number("gestation_per_day", "log/d");
  gestation_centre_d_ = modifiers.number("gestation_centre", "d");
  gestation_until_d_ = modifiers.number("gestation_until", "d");
  first_week_until_d_ = modifiers.number("gestation_last_day", "d") + 1;  // to the end of that day
  stillborn_first_ = modifiers.number("three_stillborn_d0_1", "log");
  stillborn_later_ = modifiers.number("three_stillborn_d2_8", "log");
  stillborn_centre_ = modifiers.number("three_stillborn_centre", "-");
  duration_per_min_ = modifiers.number("farrowing_duration", "log/min");
  duration_from_min_ = modifiers.number("farrowing_duration_from", "min");
  duration_full_until_ = modifiers.number("farrowing_duration_full_until_size", "piglets");
  duration_none_from_ = modifiers.number("farrowing_duration_none_from_size", "piglets");
  cold_per_k_ = modifiers.number("cold_room_per_degree", "log/K");
  cold_below_deg_c_ = modifiers.number("cold_room_below", "degC");
  cold_centre_ = modifiers.number("cold_room_centre", "log");
  heat_per_k_ = modifiers.number("hot_room_first_parity", "log/K");
  heat_above_deg_c_ = modifiers.number("hot_room_above", "degC");
  care_centre_ = modifiers.number("newborn_care_centre", "log");
}

std::size_t Survival::age_index(double age_d) const {
  std::size_t i = survival_ages - 1;
  while (i > 0 && age_d < ages_[i].begins_d) --i;
  return i;
}

double Survival::next_boundary_d(double age_d) const {
  for (const Age& age : ages_) {
    if (age.begins_d > age_d) return age.begins_d;
  }
  return age_d < first_week_until_d_ ? first_week_until_d_ : never;
}

double Survival::log_hazard(std::size_t age, double birth_weight_kg, double colostrum_g) const {
  const double over_knee_kg = birth_weight_kg - weight_knee_kg_;
  const double weight_term = over_knee_kg < 0 ? -light_slope_ * over_knee_kg : -heavy_slope_ * over_knee_kg;
  const double short_g = std::max(0.0, colostrum_knee_g_ - colostrum_g);
  return weight_term + colostrum_per_g_ * ages_[age].colostrum_weight * short_g;
}

double Survival::base_per_day(double age_d, DeathCause cause) const {
  const Age& age = ages_[age_index(age_d)];
  return age.base_per_d * (cause == DeathCause::scours ? scours_extra_ : age.share[at(cause)]);
}

double Survival::birth_terms(const BirthRisk& birth, double age_d) const {
  if (age_d >= first_week_until_d_) return birth.frailty;
  const bool newborn = age_d < ages_[d2_to_3].begins_d;
  double sum =
      birth.frailty + gestation_per_d_ * (std::min(birth.gestation_d, gestation_until_d_) - gestation_centre_d_);
  sum += (newborn ? stillborn_first_ : stillborn_later_) * ((birth.stillborn >= 3 ? 1.0 : 0.0) - stillborn_centre_);
  if (!newborn) return sum;
  // In very large litters a long farrowing no longer indicates a difficult one.
  const double fading = (duration_none_from_ - birth.total_born) / (duration_none_from_ - duration_full_until_);
  return sum + duration_per_min_ * std::max(0.0, birth.farrowing_duration_min - duration_from_min_) *
                   std::clamp(fading, 0.0, 1.0);
}

double Survival::rearing_terms(const RearingRisk& rearing, std::size_t age, double age_d) const {
  const bool newborn = age <= second_24_h;
  double sum = rearing.rear_frailty + rearing.herd_frailty;
  if (!newborn) sum += age == from_d8 ? rearing.late_frailty : rearing.middle_frailty;
  if (rearing.parity == 1) sum += first_parity_[newborn ? 0 : age_d < first_week_until_d_ ? 1 : 2];
  if (rearing.parity == 1 && age < from_d8) sum += heat_per_k_ * std::max(0.0, rearing.room_deg_c - heat_above_deg_c_);
  if (age > first_24_h) sum += surplus_term(rearing.surplus_piglets);
  if (newborn) sum += cold_per_k_ * std::max(0.0, cold_below_deg_c_ - rearing.room_deg_c) + cold_centre_;
  return sum;
}

double Survival::piglet_terms(const PigletRisk& piglet, std::size_t age) const {
  double sum = (piglet.sex == Sex::male ? male_ : female_) + piglet.moved;
  if (age > first_24_h) sum += competition_per_kg_ * piglet.kg_below_mates;
  if (age <= second_24_h) sum += piglet.care + care_centre_;
  if (age < from_d8 && piglet.splay_legged) sum += splay_legged_;
  return sum;
}

double Survival::crushing_ratio(const RearingRisk& rearing, std::size_t age) const {
  double ratio = rearing.sow_lame ? lame_crushing_ : 1.0;
  if (rearing.sow_ill) ratio *= ill_crushing_;
  if (rearing.place == FarrowingPlace::pen) ratio *= pen_ratio_;
  if (rearing.parity >= 6 && age <= second_24_h) ratio *= old_sow_ratio_;
  return ratio;
}

double Survival::starving_ratio(const RearingRisk& rearing) const {
  return (rearing.sow_ill ? ill_starving_ : 1.0) * (rearing.low_drinker ? low_drinker_starving_ : 1.0) *
         (rearing.bad_start ? bad_start_starving_ : 1.0);
}

LitterRisk Survival::of_litter(const BirthRisk& birth, const RearingRisk& rearing, double age_d) const {
  const std::size_t age = age_index(age_d);
  return {.age = age,
          .until_age_d = next_boundary_d(age_d),
          .birth = birth_terms(birth, age_d),
          .rearing = rearing_terms(rearing, age, age_d),
          .crushing_ratio = crushing_ratio(rearing, age),
          .starving_ratio = starving_ratio(rearing)};
}

PerCause Survival::operator()(const PigletRisk& piglet, const LitterRisk& litter) const {
  const std::size_t age = litter.age;
  const double exponent = log_hazard(age, piglet.birth_weight_kg, piglet.colostrum_g) + litter.birth + litter.rearing +
                          piglet_terms(piglet, age);
  const double total_per_d = ages_[age].base_per_d * std::exp(exponent);
  PerCause per_d = ages_[age].share;
  for (double& rate : per_d) rate *= total_per_d;
  per_d[at(DeathCause::crushed)] *= litter.crushing_ratio;
  per_d[at(DeathCause::starved)] = per_d[at(DeathCause::starved)] * litter.starving_ratio + piglet.unfed;
  if (piglet.scouring) per_d[at(DeathCause::scours)] = scours_extra_ * total_per_d;
  return per_d;
}

void LitterHazards::reserve(std::size_t piglets) {
  left_.reserve(piglets);
  per_d_.reserve(piglets);
}

std::size_t LitterHazards::add(const PerCause& thresholds_left) {
  left_.push_back(thresholds_left);
  per_d_.push_back(none);
  return left_.size() - 1;
}

PerCause LitterHazards::remove(std::size_t slot) {
  const PerCause left = left_.at(slot);
  left_[slot] = out_of_reach;
  per_d_[slot] = none;
  return left;
}

void LitterHazards::set_rates(std::size_t slot, const PerCause& per_d) { per_d_.at(slot) = per_d; }

bool LitterHazards::advance(double elapsed_d) {
  if (left_.empty()) return false;
  auto left = in_a_row(left_);
  left -= elapsed_d * in_a_row(per_d_);
  return left.minCoeff() <= 0;
}

NextDeath LitterHazards::next() const {
  NextDeath first;
  for (std::size_t slot = 0; slot < left_.size(); ++slot) {
    const PerCause after = after_d(left_[slot], per_d_[slot]);
    static_assert(number_of_causes == 4, "the least is found without branches, which could not be predicted");
    const double soonest_d = std::min(std::min(after[0], after[1]), std::min(after[2], after[3]));
    if (soonest_d < first.after_d) first = {slot, DeathCause::other, soonest_d};
  }
  if (first.after_d == never) return first;
  const PerCause after = after_d(left_[first.slot], per_d_[first.slot]);
  first.cause = static_cast<DeathCause>(std::ranges::find(after, first.after_d) - after.begin());
  return first;
}

}  // namespace farrowtide
