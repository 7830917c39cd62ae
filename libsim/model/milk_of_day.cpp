#include "libsim/model/milk_of_day.hpp"

#include <algorithm>
#include <span>
#include <utility>

#include "libsim/model/appetite_of_day.hpp"
#include "libsim/model/farrowing_room.hpp"

namespace farrowtide {
namespace {

// Share of the farrowing day that remained after the last birth; 1 on later days.
double share_of_day_in_milk(const Sow& sow, int lactation_day) {
  return lactation_day > 0 ? 1 : 1 - sow.labour.last_birth.hour_of_day() / 24;
}

// Milk yield adapts to the demand of fostered-in piglets, and a sow given a whole litter may yield less at first.
double demand_multiplier(const FarrowingRoom& room, const Sow& sow) {
  const Litter& litter = sow.litter;
  if (!litter.strangers_at || litter.nursing() == 0) return 1;
  const DemandMismatch& mismatch = room.biology.demand_mismatch;
  const double days = (room.clock.now() - *litter.strangers_at).days();
  return (1 - (1 - litter.adoption_multiplier) * mismatch.left(days)) *
         mismatch(litter.stranger_mean_kg, litter.expected_kg, days);
}

double milk_health_multiplier(const FarrowingRoom& room, const Sow& sow, int lactation_day) {
  return (1 - std::min(1.0, sow.water.milk_lost_d)) *
         (sow.health.ill() ? room.biology.while_ill.milk_multiplier() : 1) *
         room.biology.starvation.milk_multiplier(sow.body.smoothed_intake_mcal,
                                                 room.biology.energy.maintenance()(sow.body.weight_kg)) *
         (sow.water.low_drinker && lactation_day <= room.biology.low_drinker.last_day()
              ? room.biology.low_drinker.milk_multiplier()
              : 1) *
         demand_multiplier(room, sow);
}

// The most milk that her feed and reserves allow in a day [Mcal].
double most_milk_mcal(const FarrowingRoom& room, const Sow& sow, double eaten_kg) {
  Reserves reserves = sow.reserves();
  if (room.biology.starvation.spent(sow.body.loss_share())) reserves.backfat_mm = 0;
  return room.biology.energy.most_milk_mcal(sow.body.weight_kg, eaten_kg, room.settings.diet, reserves);
}

MilkParts milk_of_day(const FarrowingRoom& room, Sow& sow, int lactation_day, double eaten_kg) {
  const Biology& biology = room.biology;
  BodyState& body = sow.body;
  const double potential_mcal =
      own_milk_potential_mcal(room, sow, lactation_day) * share_of_day_in_milk(sow, lactation_day);
  const FeedOnMilk& feed = biology.milk_yield.feed_on_milk();
  const double demand_mcal = feed.demand_mcal(biology.energy.maintenance()(body.weight_kg), potential_mcal,
                                              eaten_kg * room.settings.diet.energy_mcal_per_kg);
  body.smoothed_demand_mcal = feed.smoothed_mcal(body.smoothed_demand_mcal, demand_mcal);
  const double usual_gain_kg = biology.litter_gain(potential_mcal, sow.litter.nursing());
  MilkParts milk = biology.milk_yield(
      {.potential_mcal = potential_mcal,
       .body_weight_kg = body.weight_kg,
       .parity = sow.traits.parity,
       .smoothed_demand_mcal = body.smoothed_demand_mcal,
       .milk_temperature_deg_c = biology.effective_temperature.milk_deg_c(
           room.weather.climate(), room.weather.yesterday_mean_deg_c(), room.settings.equipment.sow_cooling),
       .protein_loss_share = std::max(0.0, 1 - body.protein_kg / body.protein_at_farrowing_kg),
       .lysine_multiplier =
           biology.lysine.milk_multiplier(body.smoothed_lysine_shortfall_g, usual_gain_kg, sow.traits.parity),
       .health_multiplier = milk_health_multiplier(room, sow, lactation_day),
       .litter_start_multiplier = biology.litter_start(lactation_day, sow.traits.start_kind, sow.traits.start_z)});
  milk.milk_mcal = std::min(milk.milk_mcal, most_milk_mcal(room, sow, eaten_kg));
  return milk;
}

// Whether all her piglets are of one other dam: a litter that was moved as a whole keeps its order at the teats.
bool nurses_a_whole_litter(const Sow& sow) {
  const auto& piglets = sow.litter.sucklings;
  return !piglets.empty() && !piglets.front()->born_to(sow) &&
         std::ranges::all_of(piglets, [&](const Piglet* piglet) { return piglet->dam == piglets.front()->dam; });
}

// Fraction of its share of the milk that a piglet obtains: moved piglets and residents joined by fostered piglets
// obtain less.
double hindrance(const FarrowingRoom& room, const Sow& sow, const Piglet& piglet) {
  const Litter& litter = sow.litter;
  const Time now = room.clock.now();
  const double burden = piglet.move_burden.growth_at((now - piglet.born).days());
  if (!litter.strangers_at || !piglet.born_to(sow)) return burden;
  return burden * room.biology.resident_effects.growth(litter.strangers, litter.day_of_strangers,
                                                       (now - *litter.strangers_at).days());
}

// Divides the litter's gain from milk among the piglets [kg]; returns what no piglet takes.
double share_gain(const FarrowingRoom& room, const Sow& sow, double milk_gain_kg, std::span<double> gain_kg) {
  const bool whole = nurses_a_whole_litter(sow);
  std::vector<GainClaim> claims;
  claims.reserve(sow.litter.sucklings.size());
  for (const Piglet* piglet : sow.litter.sucklings) {
    claims.push_back({.weight_kg = piglet->weight_kg,
                      .teat_effect = piglet->teat_effect,
                      .hindrance = whole ? 1 : hindrance(room, sow, *piglet)});
  }
  return room.biology.gain_sharing(milk_gain_kg, claims, gain_kg);
}

// Share of what the piglets need to live that the milk of the day does not give.
double unfed_share(const FarrowingRoom& room, const Sow& sow, int lactation_day, double milk_mcal) {
  const int piglets = sow.litter.nursing();
  if (lactation_day < 1 || piglets == 0) return 0;
  constexpr double rounding = 1e-9;
  if (milk_mcal > (1 + rounding) * room.biology.unfed.most_need_mcal(sow.litter.weight_kg(), piglets)) return 0;
  double need_mcal = 0;
  for (const Piglet* piglet : sow.litter.sucklings) need_mcal += room.biology.unfed.need_mcal(piglet->weight_kg);
  return room.biology.unfed.unfed_share(milk_mcal, need_mcal);
}

// Milk energy that a scouring litter suckles too weakly to take [Mcal].
double not_suckled_mcal(const FarrowingRoom& room, const Sow& sow, int lactation_day) {
  if (lactation_day < 1) return 0;
  double lost_kg = 0;
  for (const Piglet* piglet : sow.litter.sucklings) lost_kg += lost_to_scours_kg(room, sow, *piglet, lactation_day);
  return room.biology.milk_yield.scours_share() * lost_kg * room.biology.litter_gain.milk_mcal_per_kg();
}

// The gain that a trial measured, shared by weight, with the milk that it takes: no more than piglets of their size can
// gain, nor than her feed and reserves allow.
DayOfMilk imposed_day_of_milk(const FarrowingRoom& room, const Sow& sow, double eaten_kg, double potential_mcal,
                              double measured_kg) {
  const Biology& biology = room.biology;
  const Litter& litter = sow.litter;
  const double most_mcal = most_milk_mcal(room, sow, eaten_kg);
  const double gain_kg = std::min(measured_kg, biology.litter_gain(most_mcal, litter.nursing()));
  DayOfMilk day{.milk_mcal = 0, .potential_mcal = potential_mcal, .gain_kg = 0, .gain_of_piglets_kg = {}};
  for (const Piglet* piglet : litter.sucklings) {
    const double share_kg = gain_kg * piglet->weight_kg / litter.weight_kg();
    day.gain_of_piglets_kg.push_back(std::min(share_kg, biology.gain_sharing.most_kg(piglet->weight_kg)));
    day.gain_kg += day.gain_of_piglets_kg.back();
  }
  day.milk_mcal = std::min(most_mcal, biology.litter_gain.milk_mcal(day.gain_kg, litter.nursing()));
  return day;
}

}  // namespace

double lost_to_scours_kg(const FarrowingRoom& room, const Sow& sow, const Piglet& piglet, int lactation_day) {
  const Litter& litter = sow.litter;
  return room.biology.scours.gain_loss_g_per_day(
             {.lactation_day = lactation_day,
              .days_ill = piglet.days_scoured,
              .ill_now = piglet.scouring,
              .share_of_litter_ill = static_cast<double>(litter.scoured) / litter.nursing()}) /
         1000;
}

DayOfMilk day_of_milk(const FarrowingRoom& room, Sow& sow, int lactation_day, double eaten_kg) {
  const Biology& biology = room.biology;
  const MilkParts milk = milk_of_day(room, sow, lactation_day, eaten_kg);
  const int piglets = sow.litter.nursing();
  const double share = share_of_day_in_milk(sow, lactation_day);
  const auto imposed_kg = piglets > 0 ? room.settings.imposed.litter_gain_kg(lactation_day) : std::nullopt;
  sow.litter.unfed_share = imposed_kg ? 0 : unfed_share(room, sow, lactation_day, milk.milk_mcal);
  if (imposed_kg) return imposed_day_of_milk(room, sow, eaten_kg, milk.potential_mcal, *imposed_kg);
  const double offered_kg =
      share > 0 ? share * biology.litter_gain(milk.milk_mcal / share, piglets) * (1 - sow.litter.unfed_share) : 0;
  std::vector<double> gain_of_piglets_kg(static_cast<std::size_t>(piglets));
  const double left_kg = share_gain(room, sow, offered_kg, gain_of_piglets_kg);
  if (sow.litter.set_back_until > room.now() - 1_d)
    for (double& kg : gain_of_piglets_kg) kg *= biology.handling.late_processing_gain_multiplier();
  const double left_mcal =
      left_kg * biology.litter_gain.milk_mcal_per_kg() + not_suckled_mcal(room, sow, lactation_day);
  return {.milk_mcal = std::max(0.0, milk.milk_mcal - left_mcal),
          .potential_mcal = milk.potential_mcal,
          .gain_kg = offered_kg - left_kg,
          .gain_of_piglets_kg = std::move(gain_of_piglets_kg)};
}

}  // namespace farrowtide
