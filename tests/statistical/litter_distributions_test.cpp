// Litters drawn from the equations and reared in a plain loop, against published spreads and against closed forms.
// Rows marked fitted chose a coefficient: agreement there is fit, not proof.
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <optional>
#include <vector>

#include "libsim/kernel/random.hpp"
#include "libsim/model/litter/birth_weight.hpp"
#include "libsim/model/litter/colostrum.hpp"
#include "libsim/model/litter/survival.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {
namespace {

constexpr std::uint64_t seed = 20240118;
constexpr std::uint32_t litters = 8000;

enum Purpose : std::uint32_t {
  size_draw,
  parity_draw,
  duration_draw,
  litter_weight_draw,
  weight_draw,
  sex_draw,
  yield_draw,
  share_draw,
  frailty_draw,
  teats_draw,
  threshold_draw,
  spread_draw,
  splay_draw,
};

double normal_of(std::uint32_t litter, Purpose what, std::uint32_t occasion = 0) {
  return normal({seed, 0, litter, what, occasion});
}

/// Mean of one number a litter and its standard error over litters.
class OverLitters {
 public:
  void add(double value) { values_.push_back(value); }
  double mean() const { return std::accumulate(values_.begin(), values_.end(), 0.0) / n(); }
  double z(double expected) const {
    const double centre = mean();
    double squares = 0;
    for (const double value : values_) squares += (value - centre) * (value - centre);
    return (centre - expected) / std::sqrt(squares / (n() - 1) / n());
  }

 private:
  double n() const { return static_cast<double>(values_.size()); }

  std::vector<double> values_;
};

constexpr double z_limit = 4;  // two-sided 6e-5 for each comparison

struct Piglet {
  double birth_weight_kg, colostrum_g;
  Sex sex;
  bool splay_legged = false;
  std::optional<double> died_at_d = {};
  DeathCause cause = DeathCause::other;
};

struct Litter {
  std::vector<Piglet> piglets;
  double size() const { return static_cast<double>(piglets.size()); }
};

/// One litter born at once in a mild room to a crated sow, nursed by her for 21 days: no illness, no fostering.
class LitterLoop {
 public:
  explicit LitterLoop(const Coefficients& c)
      : weight_{c}, traits_{c}, yield_{c}, chill_{c}, sharing_{c}, frailty_{c}, survival_{c} {}

  Litter operator()(std::uint32_t id) const {
    const int born_alive = std::max(4, static_cast<int>(std::lround(12.9 + 3.0 * normal_of(id, size_draw))));
    const int parity = 1 + static_cast<int>(6 * uniform({seed, 0, id, parity_draw}));
    const double duration_min = 222 * std::exp(0.475 * normal_of(id, duration_draw));  // Gourley et al. 2020
    Litter litter = newborn(id, born_alive, parity, duration_min);
    rear(litter, id, parity, duration_min);
    return litter;
  }

 private:
  static constexpr double room_deg_c = 21;
  static constexpr double nursed_d = 21;

  Litter newborn(std::uint32_t id, int born_alive, int parity, double duration_min) const {
    const double mean_kg = weight_.litter_mean_kg(born_alive, parity, normal_of(id, litter_weight_draw));
    ColostrumShares shares{
        .yield_g = yield_(born_alive, mean_kg, parity, duration_min, normal_of(id, yield_draw)) * chill_(room_deg_c),
        .piglets = {}};
    const double spread_kg = weight_.spread_kg(mean_kg, born_alive, normal_of(id, spread_draw));
    Litter litter;
    for (std::uint32_t k = 1; k <= static_cast<std::uint32_t>(born_alive); ++k) {
      const double kg = weight_(mean_kg, spread_kg, normal_of(id, weight_draw, k));
      const bool splay_legged = traits_.is_splay_legged(uniform({seed, 0, id, splay_draw, k}));
      const double pull =
          sharing_.share_weight(kg, normal_of(id, share_draw, k), static_cast<int>(k), born_alive, splay_legged);
      sharing_.join(shares, 0, {.share_weight = pull, .cap_g = sharing_.cap_g(kg), .clock_start_h = 0});
      litter.piglets.push_back({kg, 0, traits_.sex(uniform({seed, 0, id, sex_draw, k})), splay_legged});
    }
    for (std::size_t i = 0; i < litter.piglets.size(); ++i) {
      litter.piglets[i].colostrum_g = sharing_.projected_g(shares, i);
    }
    return litter;
  }

  void rear(Litter& litter, std::uint32_t id, int parity, double duration_min) const {
    const double teats = std::round(14.6 + 1.1 * normal_of(id, teats_draw));  // Wiegert & Knauer 2018
    const BirthRisk birth{.gestation_d = 115.3,
                          .stillborn = 0,
                          .total_born = static_cast<int>(litter.size()) + 1,
                          .farrowing_duration_min = duration_min,
                          .frailty = frailty_.birth(normal_of(id, frailty_draw, 0))};
    RearingRisk rearing{.parity = parity,
                        .rear_frailty = frailty_.rear(normal_of(id, frailty_draw, 1)),
                        .middle_frailty = frailty_.phase(normal_of(id, frailty_draw, 2)),
                        .late_frailty = frailty_.late_phase(normal_of(id, frailty_draw, 3)),
                        .herd_frailty = 0,
                        .room_deg_c = room_deg_c,
                        .surplus_piglets = 0};
    LitterHazards hazards;
    for (std::uint32_t k = 0; k < litter.piglets.size(); ++k) hazards.add(thresholds(id, k));
    double age_d = 0;
    double alive = litter.size();
    while (age_d < nursed_d) {
      rearing.surplus_piglets = std::max(0.0, alive - teats);
      set_rates(hazards, litter, birth, rearing, age_d);
      const double until_d = std::min(nursed_d, survival_.next_boundary_d(age_d)) - age_d;
      const NextDeath next = hazards.next();
      if (next.after_d > until_d) {
        hazards.advance(until_d);
        age_d += until_d;
        continue;
      }
      hazards.advance(next.after_d);
      hazards.remove(next.slot);
      age_d += next.after_d;
      --alive;
      litter.piglets[next.slot].died_at_d = age_d;
      litter.piglets[next.slot].cause = next.cause;
    }
  }

  static PerCause thresholds(std::uint32_t id, std::uint32_t piglet) {
    PerCause left{};
    for (std::uint32_t cause = 0; cause < NameTable<DeathCause>::size; ++cause) {
      left[cause] = exponential({seed, 0, id, threshold_draw, 4 * piglet + cause});
    }
    return left;
  }

  void set_rates(LitterHazards& hazards, const Litter& litter, const BirthRisk& birth, const RearingRisk& rearing,
                 double age_d) const {
    double sum_kg = 0;
    double alive = 0;
    for (const Piglet& piglet : litter.piglets) {
      sum_kg += piglet.died_at_d ? 0 : piglet.birth_weight_kg;
      alive += piglet.died_at_d ? 0 : 1;
    }
    for (std::size_t slot = 0; slot < litter.piglets.size(); ++slot) {
      const Piglet& piglet = litter.piglets[slot];
      if (piglet.died_at_d) continue;
      const PigletRisk risk{.birth_weight_kg = piglet.birth_weight_kg,
                            .colostrum_g = piglet.colostrum_g,
                            .sex = piglet.sex,
                            .kg_below_mates = sum_kg / alive - piglet.birth_weight_kg,
                            .splay_legged = piglet.splay_legged};
      hazards.set_rates(slot, survival_(risk, birth, rearing, age_d));
    }
  }

  BirthWeight weight_;
  NewbornTraits traits_;
  ColostrumYield yield_;
  ColostrumChill chill_;
  ColostrumSharing sharing_;
  Frailty frailty_;
  Survival survival_;
};

const std::vector<Litter>& herd() {
  static const std::vector<Litter> all = [] {
    const LitterLoop loop{Coefficients::built_in()};
    std::vector<Litter> made;
    for (std::uint32_t id = 0; id < litters; ++id) made.push_back(loop(id));
    return made;
  }();
  return all;
}

struct Spread {
  double n = 0, sum = 0, squares = 0;
  void add(double x) {
    n += 1;
    sum += x;
    squares += x * x;
  }
  double mean() const { return sum / n; }
  double sd() const { return std::sqrt((squares - sum * sum / n) / (n - 1)); }
};

template <class Value>
Spread spread_of(const std::vector<Piglet>& piglets, Value value) {
  Spread spread;
  for (const Piglet& piglet : piglets) spread.add(value(piglet));
  return spread;
}

template <class Value>
Spread spread_of_all(Value value) {
  Spread spread;
  for (const Litter& litter : herd()) {
    for (const Piglet& piglet : litter.piglets) spread.add(value(piglet));
  }
  return spread;
}

/// Percent of the piglets chosen that were dead by an age [d].
template <class Choose>
double percent_dead(double by_d, Choose choose) {
  double dead = 0;
  double all = 0;
  for (const Litter& litter : herd()) {
    for (const Piglet& piglet : litter.piglets) {
      if (!choose(piglet)) continue;
      all += 1;
      dead += piglet.died_at_d && *piglet.died_at_d < by_d;
    }
  }
  return 100 * dead / all;
}

bool anyone(const Piglet&) { return true; }

// The checker itself: a true expectation passes, one that is off by 3 % is found.
TEST(OverLitters, FindsAWrongExpectation) {
  const BirthWeight weight{Coefficients::built_in()};
  OverLitters mean_kg;
  for (std::uint32_t id = 0; id < litters; ++id) {
    double sum_kg = 0;
    const double litter_kg = weight.litter_mean_kg(13, 3, normal_of(id, litter_weight_draw));
    for (std::uint32_t k = 0; k < 13; ++k) sum_kg += weight(litter_kg, 0.29, normal_of(id, weight_draw, k));
    mean_kg.add(sum_kg / 13);
  }
  EXPECT_LT(std::abs(mean_kg.z(1.49)), z_limit);
  EXPECT_GT(std::abs(mean_kg.z(1.49 * 1.03)), z_limit);
}

// Competing exponential clocks: the share of each cause and of survivors is known exactly.
TEST(LitterHazards, KillAsCompetingExponentialClocksDo) {
  constexpr PerCause per_d = {0.05, 0.02, 0.0, 0.03};
  constexpr double piglets = 12, days = 5;
  std::array<OverLitters, NameTable<DeathCause>::size> dead_share;
  for (std::uint32_t id = 0; id < litters; ++id) {
    LitterHazards hazards;
    for (std::uint32_t k = 0; k < piglets; ++k) {
      PerCause left{};
      for (std::uint32_t c = 0; c < NameTable<DeathCause>::size; ++c)
        left[c] = exponential({seed, 1, id, threshold_draw, 4 * k + c});
      hazards.set_rates(hazards.add(left), per_d);
    }
    PerCause dead{};
    for (double left_d = days; left_d > 0;) {
      const NextDeath next = hazards.next();
      const double step_d = std::min({next.after_d, left_d, 0.7});  // also stops where nobody dies
      hazards.advance(step_d);
      left_d -= step_d;
      if (step_d < next.after_d) continue;
      hazards.remove(next.slot);
      dead[static_cast<std::size_t>(next.cause)] += 1;
    }
    for (std::size_t c = 0; c < NameTable<DeathCause>::size; ++c) dead_share[c].add(dead[c] / piglets);
  }
  const double all_per_d = std::accumulate(per_d.begin(), per_d.end(), 0.0);
  const double expected = -std::expm1(-all_per_d * days);
  for (const std::size_t c : {0, 1, 3}) {
    EXPECT_LT(std::abs(dead_share[c].z(expected * per_d[c] / all_per_d)), z_limit) << c;
    EXPECT_GT(std::abs(dead_share[c].z(1.05 * expected * per_d[c] / all_per_d)), z_limit) << c;
  }
  EXPECT_EQ(dead_share[2].mean(), 0);
}

// Smith et al. 2007: SD 0.32-0.33 kg (+-0.03); Feldpausch et al. 2019: 15 % below 1.11 kg (+-3 points). Fitted.
TEST(Litters, HaveTheSpreadOfBirthWeight) {
  const Spread kg = spread_of_all([](const Piglet& p) { return p.birth_weight_kg; });
  EXPECT_NEAR(kg.sd(), 0.325, 0.03);
  const Spread light = spread_of_all([](const Piglet& p) { return p.birth_weight_kg < 1.11 ? 100.0 : 0.0; });
  EXPECT_NEAR(light.mean(), 15, 3);
}

// Devillers et al. 2007: 300 g (+-10 %), SD 145-160 (+-20 %); Declerck et al. 2017: within-litter CV 31 % (+-5).
// Fitted.
TEST(Litters, HaveTheSpreadOfColostrumIntake) {
  const auto intake_g = [](const Piglet& p) { return p.colostrum_g; };
  const Spread g = spread_of_all(intake_g);
  EXPECT_NEAR(g.mean(), 300, 30);
  EXPECT_NEAR(g.sd(), 152, 0.2 * 152);
  Spread variation;
  for (const Litter& litter : herd()) {
    const Spread inside = spread_of(litter.piglets, intake_g);
    variation.add(100 * inside.sd() / inside.mean());
  }
  EXPECT_NEAR(variation.mean(), 31, 5);
}

// 12-15 % die before weaning (Feldpausch et al. 2019 12.2; Koketsu et al. 2020 14.4); +-1.5 points. Fitted, and this
// loop knows no illness, which adds to it.
TEST(Litters, LoseAboutOnePigletInEight) {
  const double percent = percent_dead(21, anyone);
  EXPECT_GT(percent, 12 - 1.5);
  EXPECT_LT(percent, 15 + 1.5);
}

// Jourquin et al. 2016, Feldpausch et al. 2019: 36-42 % below 1.11 kg (+-6), 8 % above (+-2). Fitted.
TEST(Litters, LoseTheLightPiglets) {
  const double light = percent_dead(21, [](const Piglet& p) { return p.birth_weight_kg < 1.11; });
  const double heavy = percent_dead(21, [](const Piglet& p) { return p.birth_weight_kg >= 1.11; });
  EXPECT_GT(light, 36 - 6);
  EXPECT_LT(light, 42 + 6);
  EXPECT_NEAR(heavy, 8, 2);
}

// Devillers et al. 2011 (from memory): 43.4 % below 200 g of colostrum, 7.1 % above: a ratio of 5-6 (+-2). Fitted.
TEST(Litters, LoseThePigletsShortOfColostrum) {
  const double little = percent_dead(21, [](const Piglet& p) { return p.colostrum_g < 200; });
  const double enough = percent_dead(21, [](const Piglet& p) { return p.colostrum_g >= 200; });
  EXPECT_GT(little / enough, 5 - 2);
  EXPECT_LT(little / enough, 6 + 2);
}

// Koketsu, Iida & Piñeiro 2021: 49, 33 and 18 % of deaths on d0-1, d2-8 and from d9 (+-6 points); weaned at 21 d here.
// Fitted. Not asserted: that no fewer die from d9, since piglets do not grow here and so do not grow apart.
TEST(Litters, LoseFewPigletsAfterDayEight) {
  const double until_8 = percent_dead(9, anyone);
  const double all = percent_dead(21, anyone);
  EXPECT_LT(100 * (all - until_8) / all, 18 + 6);
  EXPECT_GT(percent_dead(2, anyone), until_8 - percent_dead(2, anyone)) << "d0-1 is the worst time";
}

}  // namespace
}  // namespace farrowtide
