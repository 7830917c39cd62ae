#include "libsim/model/death_record.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "libsim/model/farrowing_room.hpp"
#include "libsim/model/litter_risks.hpp"
#include "libsim/record/rows.hpp"

namespace farrowtide {
namespace {

// All inputs of a hazard; each part can be replaced by one that adds nothing to it.
struct Risks {
  PigletRisk piglet;
  BirthRisk birth;
  RearingRisk rearing;
};

class HazardOfDeath {
 public:
  HazardOfDeath(const Survival& survival, const Risks& risks, double age_d, DeathCause cause)
      : survival_(survival), risks_(risks), age_d_(age_d), cause_(static_cast<std::size_t>(cause)) {}

  // The hazard as a multiple of what it would be if `change` were made to its inputs.
  template <class Change>
  double ratio(Change change) const {
    Risks other = risks_;
    change(other);
    const double otherwise = per_day(other);
    return otherwise > 0 ? per_day(risks_) / otherwise : missing;
  }

 private:
  double per_day(const Risks& risks) const {
    return survival_(risks.piglet, risks.birth, risks.rearing, age_d_)[cause_];
  }

  const Survival& survival_;
  const Risks risks_;
  const double age_d_;
  const std::size_t cause_;
};

// The hazards are constant within an age interval, and a death falls to the end of the second in which it is due: it
// belongs to the interval whose rates led to it.
double age_of_rates_d(const Piglet& piglet, double age_d) {
  return std::min(age_d, std::nextafter(piglet.rates_until_age_d, 0));
}

void fill_drivers(const Risks& risks, DeathRow& row) {
  row.birth_weight_kg = risks.piglet.birth_weight_kg;
  row.below_mates_kg = risks.piglet.kg_below_mates;
  row.colostrum_g = risks.piglet.colostrum_g;
  row.splay_legged = risks.piglet.splay_legged ? 1 : 0;
  row.scouring = risks.piglet.scouring ? 1 : 0;
  row.farrowing_duration_min = risks.birth.farrowing_duration_min;
  row.stillborn = risks.birth.stillborn;
  row.room_deg_c = risks.rearing.room_deg_c;
  row.surplus_piglets = risks.rearing.surplus_piglets;
  row.parity = risks.rearing.parity;
  row.pen = risks.rearing.place == FarrowingPlace::pen ? 1 : 0;
  row.sow_ill = risks.rearing.sow_ill ? 1 : 0;
  row.sow_lame = risks.rearing.sow_lame ? 1 : 0;
  row.low_drinker = risks.rearing.low_drinker ? 1 : 0;
  row.bad_start = risks.rearing.bad_start ? 1 : 0;
}

void fill_ratios(const HazardOfDeath& hazard, const Survival& survival, DeathRow& row) {
  const auto enough_g = std::numeric_limits<double>::max();
  row.birth_weight_ratio =
      hazard.ratio([&](Risks& risks) { risks.piglet.birth_weight_kg = survival.weight_knee_kg(); });
  row.colostrum_ratio = hazard.ratio([&](Risks& risks) { risks.piglet.colostrum_g = enough_g; });
  row.below_mates_ratio = hazard.ratio([](Risks& risks) { risks.piglet.kg_below_mates = 0; });
  row.temperature_ratio = hazard.ratio([&](Risks& risks) {
    risks.rearing.room_deg_c = std::clamp(risks.rearing.room_deg_c, survival.cold_below_deg_c(),
                                          std::max(survival.cold_below_deg_c(), survival.hot_above_deg_c()));
  });
  row.surplus_ratio = hazard.ratio([](Risks& risks) { risks.rearing.surplus_piglets = 0; });
  row.unfed_ratio = hazard.ratio([](Risks& risks) { risks.piglet.unfed = 0; });
  row.farrowing_ratio = hazard.ratio([](Risks& risks) { risks.birth.farrowing_duration_min = 0; });
  row.stillborn_ratio = hazard.ratio([](Risks& risks) { risks.birth.stillborn = 0; });
  row.moves_ratio = hazard.ratio([](Risks& risks) { risks.piglet.moved = 0; });
  row.splay_legs_ratio = hazard.ratio([](Risks& risks) { risks.piglet.splay_legged = false; });
  row.sow_ratio = hazard.ratio([](Risks& risks) {
    risks.rearing.sow_ill = risks.rearing.sow_lame = risks.rearing.low_drinker = risks.rearing.bad_start = false;
  });
  row.place_ratio = hazard.ratio([](Risks& risks) { risks.rearing.place = FarrowingPlace::crate; });
  row.care_ratio = hazard.ratio([](Risks& risks) { risks.piglet.care = 0; });
  row.parity_ratio = hazard.ratio([](Risks& risks) { risks.rearing.parity = 2; });
  row.litter_ratio = hazard.ratio([](Risks& risks) {
    risks.birth.frailty = 0;
    risks.rearing.rear_frailty = risks.rearing.middle_frailty = risks.rearing.late_frailty = 0;
  });
}

}  // namespace

void write_death(FarrowingRoom& room, const Sow& sow, const Piglet& piglet) {
  const double age_d = *piglet.age_at_death_d, at_age_d = age_of_rates_d(piglet, age_d);
  const Risks risks{.piglet = piglet_risk(room, sow, piglet, sow.litter.weight_kg(), at_age_d),
                    .birth = birth_risk(*piglet.dam),
                    .rearing = rearing_risk(room, sow)};
  DeathRow row;
  row.sow = piglet.dam->number;
  row.birth_order = piglet.birth_rank;
  row.reared_by = sow.number;
  row.cause = piglet.cause_code();
  row.orphaned = sow.left.reached() && *piglet.cause == DeathCause::starved ? 1 : 0;
  row.time_h = room.now().since_start().hours();
  row.age_h = age_d * 24;
  row.weight_kg = piglet.weight_kg;
  row.unfed_share = sow.litter.unfed_share;
  row.moves = piglet.moves;
  fill_drivers(risks, row);
  if (row.orphaned == 0) {
    const Survival& survival = room.biology.survival;
    const HazardOfDeath hazard(survival, risks, at_age_d, *piglet.cause);
    const bool care_matters = hazard.ratio([](Risks& other) { other.piglet.care -= 1; }) != 1;
    if (care_matters) row.cared_for = piglet.cared_for ? 1 : 0;
    row.hazard_per_day = sow.litter.hazards.rates(piglet.slot)[static_cast<std::size_t>(*piglet.cause)];
    row.base_hazard_per_day = survival.base_per_day(at_age_d, *piglet.cause);
    fill_ratios(hazard, survival, row);
  }
  room.records.write(row);
}

}  // namespace farrowtide
