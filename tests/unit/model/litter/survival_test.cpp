#include "libsim/model/litter/survival.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numeric>

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {
namespace {

// Numbers with many digits come from an independent implementation of the same equations in double precision.
const Coefficients coefficients = Coefficients::built_in();
const Survival survival{coefficients};

constexpr BirthRisk plain_birth{
    .gestation_d = 115.3, .stillborn = 0, .total_born = 14, .farrowing_duration_min = 220, .frailty = 0};
constexpr RearingRisk plain_rearing{.parity = 3,
                                    .rear_frailty = 0,
                                    .middle_frailty = 0,
                                    .late_frailty = 0,
                                    .herd_frailty = 0,
                                    .room_deg_c = 25,
                                    .surplus_piglets = 0};
constexpr PigletRisk plain_piglet{.birth_weight_kg = 1.4, .colostrum_g = 320, .sex = Sex::female};

double total(const PerCause& per_d) { return std::accumulate(per_d.begin(), per_d.end(), 0.0); }

double rate(const PerCause& per_d, DeathCause cause) { return per_d[static_cast<std::size_t>(cause)]; }

/// log of the ratio of hazards of one cause after a change to that before it.
template <class Change>
double log_ratio(DeathCause cause, double age_d, Change change) {
  PigletRisk piglet = plain_piglet;
  BirthRisk birth = plain_birth;
  RearingRisk rearing = plain_rearing;
  const double before = rate(survival(piglet, birth, rearing, age_d), cause);
  change(piglet, birth, rearing);
  return std::log(rate(survival(piglet, birth, rearing, age_d), cause) / before);
}

// The reference values were computed at base hazards that have been re-scaled since.
TEST(Survival, AgreesWithTheReferenceValues) {
  const Survival reference{coefficients.with_overlay(
      R"({"litter.survival.hazard.base": [0.0063, 0.0021, 0.0057, 0.0107, 0.026]})", "reference values")};
  EXPECT_NEAR(reference.log_hazard(0, 0.95, 180), 1.888, 1e-12);
  EXPECT_NEAR(reference.base(0) * std::exp(reference.log_hazard(0, 0.95, 180)), 0.04161870199, 5e-12);
  EXPECT_NEAR(reference.base(3) * std::exp(reference.log_hazard(3, 0.95, 180)), 0.04588983998, 5e-12);
  double hazard = 0;
  for (std::size_t age = 0; age < survival_ages; ++age) {
    hazard += reference.base(age) * std::exp(reference.log_hazard(age, 1.6, 340));
  }
  EXPECT_NEAR(hazard, 0.04538566719, 5e-12);
  EXPECT_NEAR(-std::expm1(-hazard), 0.04437114394, 5e-12);
}

// Kobek-Kjeldager et al. 2020: odds ratio 2.0 for 17 against 14 piglets on 14.5 teats.
TEST(Survival, FallsWithPigletsInExcessOfTeatsFromTheSecondDay) {
  const auto crowd = [](auto&, auto&, auto& rearing) { rearing.surplus_piglets = 2; };
  EXPECT_EQ(log_ratio(DeathCause::other, 0.5, crowd), 0);
  EXPECT_NEAR(std::exp(log_ratio(DeathCause::other, 1.5, crowd)), 1.584073985, 5e-10);
}

TEST(Survival, ChangesItsRatesAtTheBoundsOfTheAges) {
  double age_d = 0;
  for (const double next_d : {1.0, 2.0, 4.0, 8.0, 9.0}) {
    age_d = survival.next_boundary_d(age_d);
    EXPECT_EQ(age_d, next_d);
  }
  EXPECT_TRUE(std::isinf(survival.next_boundary_d(9)));
  EXPECT_EQ(survival.next_boundary_d(3.5), 4);
  EXPECT_EQ(survival.age_index(0.999), 0u);
  EXPECT_EQ(survival.age_index(1), 1u);
  EXPECT_EQ(survival.age_index(27), 4u);
}

TEST(Survival, IsConstantBetweenBoundaries) {
  RearingRisk gilt = plain_rearing;
  gilt.parity = 1;
  for (double from = 0; from < 20; from = survival.next_boundary_d(from)) {
    const double until = std::min(20.0, survival.next_boundary_d(from));
    EXPECT_EQ(survival(plain_piglet, plain_birth, gilt, from), survival(plain_piglet, plain_birth, gilt, until - 1e-9));
  }
}

TEST(Survival, SplitsTheBaseRateAmongTheCauses) {
  const PerCause per_d = survival(plain_piglet, plain_birth, plain_rearing, 5);
  EXPECT_NEAR(rate(per_d, DeathCause::crushed) / total(per_d), 0.35, 1e-12);
  EXPECT_NEAR(rate(per_d, DeathCause::starved) / total(per_d), 0.15, 1e-12);
  EXPECT_EQ(rate(per_d, DeathCause::scours), 0);
  // Hand-made: base, weight, sex, centred share of litters with three or more stillborn.
  EXPECT_NEAR(total(per_d), survival.base(3) / 4 * std::exp(-0.23 * 0.29 - 0.175 - 0.21 * 0.13), 1e-15);
}

TEST(Survival, AddsTheTermsOfTheBirthLitter) {
  using enum DeathCause;
  EXPECT_NEAR(log_ratio(other, 1, [](auto&, auto& b, auto&) { b.gestation_d = 113.3; }), 0.074, 1e-12);
  EXPECT_NEAR(log_ratio(other, 8.9, [](auto&, auto& b, auto&) { b.gestation_d = 113.3; }), 0.074, 1e-12);
  EXPECT_NEAR(log_ratio(other, 9, [](auto&, auto& b, auto&) { b.gestation_d = 113.3; }), 0, 1e-12);
  EXPECT_NEAR(log_ratio(other, 1, [](auto&, auto& b, auto&) { b.gestation_d = 121; }), -0.037 * 2.7, 1e-12);
  EXPECT_NEAR(log_ratio(other, 1, [](auto&, auto& b, auto&) { b.stillborn = 2; }), 0, 1e-12);
  EXPECT_NEAR(log_ratio(other, 1, [](auto&, auto& b, auto&) { b.stillborn = 3; }), 0.27, 1e-12);
  EXPECT_NEAR(log_ratio(other, 5, [](auto&, auto& b, auto&) { b.stillborn = 3; }), 0.21, 1e-12);
  EXPECT_NEAR(log_ratio(other, 1, [](auto&, auto& b, auto&) { b.farrowing_duration_min = 340; }), 0.15, 1e-12);
  EXPECT_NEAR(log_ratio(other, 3, [](auto&, auto& b, auto&) { b.farrowing_duration_min = 340; }), 0, 1e-12);
  EXPECT_NEAR(log_ratio(other, 15, [](auto&, auto& b, auto&) { b.frailty = 0.3; }), 0.3, 1e-12);
  const auto long_and_large = [](int total_born) {
    return [total_born](auto&, auto& b, auto&) { b.farrowing_duration_min = 340, b.total_born = total_born; };
  };
  EXPECT_NEAR(log_ratio(other, 1, long_and_large(17)), 0.075, 1e-12);
  EXPECT_NEAR(log_ratio(other, 1, long_and_large(21)), 0, 1e-12);
}

TEST(Survival, AddsTheTermsOfTheRearingSow) {
  using enum DeathCause;
  const auto gilt = [](auto&, auto&, auto& r) { r.parity = 1; };
  EXPECT_NEAR(log_ratio(other, 1.5, gilt), -0.07, 1e-12);
  EXPECT_NEAR(log_ratio(other, 5, gilt), 0.17, 1e-12);
  EXPECT_NEAR(log_ratio(other, 8.5, gilt), 0.17, 1e-12);
  EXPECT_NEAR(log_ratio(other, 9.5, gilt), 0.27, 1e-12);
  const auto frail = [](auto&, auto&, auto& r) { r.rear_frailty = 0.1, r.middle_frailty = 1, r.late_frailty = 2; };
  EXPECT_NEAR(log_ratio(other, 1.5, frail), 0.1, 1e-12);
  EXPECT_NEAR(log_ratio(other, 7, frail), 1.1, 1e-12);
  EXPECT_NEAR(log_ratio(other, 8, frail), 2.1, 1e-12);
  const auto cold = [](auto&, auto&, auto& r) { r.room_deg_c = 20; };
  EXPECT_NEAR(log_ratio(other, 1.5, cold), 0.15, 1e-12);
  EXPECT_NEAR(log_ratio(other, 2, cold), 0, 1e-12);
  EXPECT_NEAR(log_ratio(other, 20, [](auto&, auto&, auto& r) { r.herd_frailty = 0.33; }), 0.33, 1e-12);
}

// Nuntapaitoon & Tummaruk 2018: the heat of the first week kills piglets of parity 1 and of no other. Fitted.
TEST(Survival, CountsHeatInTheFirstWeekOfFirstParitiesOnly) {
  using enum DeathCause;
  const double per_k = coefficients.number("litter.survival.modifiers.hot_room_first_parity", "log/K");
  const auto heat = [](int parity, double age_d) {
    return log_ratio(crushed, age_d, [&](auto&, auto&, auto& r) { r.parity = parity, r.room_deg_c = 29; }) -
           log_ratio(crushed, age_d, [&](auto&, auto&, auto& r) { r.parity = parity; });
  };
  EXPECT_NEAR(heat(1, 0.5), 3 * per_k, 1e-12);
  EXPECT_NEAR(heat(1, 7.9), 3 * per_k, 1e-12);
  EXPECT_NEAR(heat(1, 8), 0, 1e-12);
  EXPECT_NEAR(heat(2, 0.5), 0, 1e-12);
}

TEST(Survival, AddsThePigletsOwnTerms) {
  using enum DeathCause;
  EXPECT_NEAR(log_ratio(other, 5, [](auto& p, auto&, auto&) { p.sex = Sex::male; }), 0.35, 1e-12);
  EXPECT_NEAR(log_ratio(other, 0.5, [](auto& p, auto&, auto&) { p.kg_below_mates = 0.4; }), 0, 1e-12);
  EXPECT_NEAR(log_ratio(other, 1.5, [](auto& p, auto&, auto&) { p.kg_below_mates = 0.4; }), 0.32, 1e-12);
  EXPECT_NEAR(log_ratio(other, 1.5, [](auto& p, auto&, auto&) { p.kg_below_mates = -0.4; }), -0.32, 1e-12);
  EXPECT_NEAR(log_ratio(other, 1.5, [](auto& p, auto&, auto&) { p.care = -0.2; }), -0.2, 1e-12);
  EXPECT_NEAR(log_ratio(other, 2, [](auto& p, auto&, auto&) { p.care = -0.2; }), 0, 1e-12);
  EXPECT_NEAR(log_ratio(other, 7.9, [](auto& p, auto&, auto&) { p.splay_legged = true; }), 3.6, 1e-12);
  EXPECT_NEAR(log_ratio(other, 8, [](auto& p, auto&, auto&) { p.splay_legged = true; }), 0, 1e-12);
  EXPECT_NEAR(log_ratio(other, 8, [](auto& p, auto&, auto&) { p.moved = 0.4; }), 0.4, 1e-12);
}

TEST(Survival, AimsSomeTermsAtOneCause) {
  using enum DeathCause;
  const struct {
    const char* what;
    void (*change)(PigletRisk&, BirthRisk&, RearingRisk&);
    double age_d, crushed, starved;
  } rows[] = {
      {"leg trouble", [](auto&, auto&, auto& r) { r.sow_lame = true; }, 5, std::log(1.5), 0},
      {"ill sow", [](auto&, auto&, auto& r) { r.sow_ill = true; }, 5, std::log(1.3), std::log(2)},
      {"ill and lame", [](auto&, auto&, auto& r) { r.sow_ill = r.sow_lame = true; }, 5, std::log(1.95), std::log(2)},
      {"low drinker", [](auto&, auto&, auto& r) { r.low_drinker = true; }, 2, 0, std::log(2)},
      {"bad start", [](auto&, auto&, auto& r) { r.bad_start = true; }, 3, 0, std::log(2)},
      {"pen", [](auto&, auto&, auto& r) { r.place = FarrowingPlace::pen; }, 5, 0.59, 0},
      {"old sow, newborn", [](auto&, auto&, auto& r) { r.parity = 6; }, 1.5, 0.1, 0},
      {"old sow, later", [](auto&, auto&, auto& r) { r.parity = 6; }, 2.5, 0, 0},
  };
  for (const auto& row : rows) {
    EXPECT_NEAR(log_ratio(crushed, row.age_d, row.change), row.crushed, 1e-12) << row.what;
    EXPECT_NEAR(log_ratio(starved, row.age_d, row.change), row.starved, 1e-12) << row.what;
    EXPECT_NEAR(log_ratio(other, row.age_d, row.change), 0, 1e-12) << row.what;
  }
}

TEST(Survival, AddsAMultipleOfTheBaseRateWhileAPigletScours) {
  const double extra = coefficients.number("litter.scours.extra_hazard", "-");
  PigletRisk piglet = plain_piglet;
  const double base = total(survival(piglet, plain_birth, plain_rearing, 5));
  piglet.scouring = true;
  const PerCause per_d = survival(piglet, plain_birth, plain_rearing, 5);
  EXPECT_NEAR(rate(per_d, DeathCause::scours), extra * base, 1e-12);
  EXPECT_NEAR(total(per_d), (1 + extra) * base, 1e-12);
}

// The mean of a lognormal multiplier with log mean -variance/2 is 1, so frailty does not move the mean hazard.
TEST(Frailty, KeepsTheMeanHazard) {
  const Frailty frailty{coefficients};
  const auto mean_multiplier = [](auto draw) {
    double sum = 0;
    double weight = 0;
    for (double z = -8; z <= 8; z += 0.01) {
      sum += std::exp(draw(z) - z * z / 2);
      weight += std::exp(-z * z / 2);
    }
    return sum / weight;
  };
  EXPECT_NEAR(mean_multiplier([&](double z) { return frailty.birth(z); }), 1, 1e-9);
  EXPECT_NEAR(mean_multiplier([&](double z) { return frailty.rear(z); }), 1, 1e-9);
  EXPECT_NEAR(mean_multiplier([&](double z) { return frailty.phase(z); }), 1, 1e-9);
  EXPECT_NEAR(mean_multiplier([&](double z) { return frailty.late_phase(z); }), 1, 1e-6);
  const double birth_sd = frailty.birth(1) - frailty.birth(0);
  const double rear_sd = frailty.rear(1) - frailty.rear(0);
  EXPECT_NEAR(birth_sd, 0.849, 0.001);
  EXPECT_NEAR(birth_sd * birth_sd + rear_sd * rear_sd, 1.44, 1e-12);
}

TEST(LitterHazards, FindTheEarliestDeath) {
  LitterHazards litter;
  litter.add({1, 2, 3, 4});
  litter.add({1, 2, 3, 4});
  EXPECT_TRUE(std::isinf(litter.next().after_d)) << "no rates, no deaths";
  litter.set_rates(0, {0.1, 0.1, 0, 0.1});  // crushed after 10 d
  litter.set_rates(1, {0.1, 0.5, 0, 0.1});  // starved after 4 d
  const NextDeath next = litter.next();
  EXPECT_EQ(next.slot, 1u);
  EXPECT_EQ(next.cause, DeathCause::starved);
  EXPECT_DOUBLE_EQ(next.after_d, 4);
}

TEST(LitterHazards, AccumulateOverChangesOfRate) {
  LitterHazards litter;
  litter.add({1, 9, 9, 9});
  litter.set_rates(0, {0.2, 0, 0, 0});
  litter.advance(2);
  litter.set_rates(0, {0.1, 0, 0, 0});
  EXPECT_DOUBLE_EQ(litter.next().after_d, 6);
  litter.advance(6);
  EXPECT_NEAR(litter.next().after_d, 0, 1e-15);
}

TEST(LitterHazards, KeepADeathThatRoundingMadeOverdue) {
  LitterHazards litter;
  litter.add({9, 9, 1, 9});
  litter.set_rates(0, {0, 0, 0.5, 0});
  litter.advance(2.001);
  litter.set_rates(0, {0, 0, 0, 0});  // scours over in the same second: too late
  EXPECT_EQ(litter.next().after_d, 0);
  EXPECT_EQ(litter.next().cause, DeathCause::scours);
}

TEST(LitterHazards, BreakTiesByPlace) {
  LitterHazards litter;
  for (int i = 0; i < 3; ++i) litter.set_rates(litter.add({1, 1, 1, 1}), {0, 0.5, 0, 0.5});
  EXPECT_EQ(litter.next().slot, 0u);
  EXPECT_EQ(litter.next().cause, DeathCause::starved);
}

TEST(LitterHazards, TakeAPigletToItsNextLitterAsItWas) {
  LitterHazards from;
  LitterHazards to;
  from.set_rates(from.add({1, 2, 3, 4}), {0.25, 0.25, 0, 0});
  from.advance(2);
  const PerCause left = from.remove(0);
  EXPECT_EQ(left, (PerCause{0.5, 1.5, 3, 4}));
  EXPECT_TRUE(std::isinf(from.next().after_d));
  from.advance(100);
  EXPECT_TRUE(std::isinf(from.next().after_d));
  to.set_rates(to.add(left), {0.25, 0, 0, 0});
  EXPECT_DOUBLE_EQ(to.next().after_d, 2);
}

}  // namespace
}  // namespace farrowtide
