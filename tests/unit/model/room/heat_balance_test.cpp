#include "libsim/model/room/heat_balance.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numeric>

#include "libsim/kernel/errors.hpp"

namespace farrowtide {
namespace {

const Coefficients& built_in() {
  static const Coefficients coefficients = Coefficients::built_in();
  return coefficients;
}

using Hours = std::array<double, 24>;
Hours constant(double value) {
  Hours hours{};
  hours.fill(value);
  return hours;
}

struct Room {
  RoomBuilding building = RoomBuilding::standard(built_in(), 24);
  RoomState state{.temperature_deg_c = 21};
  double animal_heat_w = 24 * 557;  // 340 W sensible each at 21 degC
  double lamp_w = 24 * 125;
  double set_point_deg_c = 21;
  double outdoor_humidity_pct = 70;

  RoomDay days(int n, const Hours& outdoor_deg_c) {
    const RoomClimate climate{built_in(), building};
    const Hours humidity = constant(outdoor_humidity_pct), set_point = constant(set_point_deg_c);
    RoomDay day;
    for (int i = 0; i < n; ++i)
      day = climate(state, {.outdoor_deg_c = outdoor_deg_c,
                            .outdoor_relative_humidity_pct = humidity,
                            .set_point_deg_c = set_point,
                            .animal_heat_w = animal_heat_w,
                            .lamp_w = lamp_w});
    return day;
  }
};

double sum_of(const Hours& hours) { return std::accumulate(hours.begin(), hours.end(), 0.0); }
double mean_of(const Hours& hours) { return sum_of(hours) / 24; }

// Restated, from a separate script.
TEST(HeatNode, GivesTheOracleRoom) {
  const VentilationStages ventilation{built_in(), 24};
  const double air = built_in().number("room.building.air_heat_capacity", "J/(m3 K)");
  const HeatNode node{139 + air * ventilation.least_m3_per_s(), 3.6e6};
  EXPECT_NEAR(node.loss_w_per_k, 412.231360, 1e-6);
  const double equilibrium = 24 * 476 / node.loss_w_per_k;
  EXPECT_NEAR(equilibrium, 27.712593239, 1e-8);
  EXPECT_NEAR(node.after(21, equilibrium, 3600), 23.267708269, 1e-8);
}

// Closed forms against a fine explicit integration of C dT/dt = -K (T - T_eq).
TEST(HeatNode, AgreesWithIntegration) {
  const HeatNode node{400, 3.6e6};
  constexpr double dt = 0.1;
  double deg_c = 18, sum = 0;
  for (int i = 0; i < 36'000; ++i) {
    const double next = deg_c - dt * node.loss_w_per_k / node.capacity_j_per_k * (deg_c - 27);
    sum += dt * (deg_c + next) / 2;
    deg_c = next;
  }
  EXPECT_NEAR(node.after(18, 27, 3600), deg_c, 1e-4);
  EXPECT_NEAR(node.mean(18, 27, 3600), sum / 3600, 1e-4);
}

TEST(HeatNode, KnowsWhenItArrives) {
  const HeatNode node{400, 3.6e6};
  const double seconds = node.time_to_reach_s(18, 27, 20);
  EXPECT_NEAR(node.after(18, 27, seconds), 20, 1e-12);
  EXPECT_EQ(node.time_to_reach_s(18, 27, 18), 0);
  EXPECT_EQ(node.time_to_reach_s(18, 27, 28), std::numeric_limits<double>::infinity());
  EXPECT_EQ(node.time_to_reach_s(18, 27, 17), std::numeric_limits<double>::infinity());
  EXPECT_EQ(node.time_to_reach_s(27, 27, 27.5), std::numeric_limits<double>::infinity());
}

TEST(VentilationStages, RiseWithTheRoom) {
  const VentilationStages ventilation{built_in(), 24};
  EXPECT_NEAR(ventilation(-3), 24 * 0.00944, 1e-12);
  EXPECT_NEAR(ventilation(0), 24 * 0.00944, 1e-12);
  EXPECT_NEAR(ventilation(1), 24 * (0.00944 + 0.0378) / 2, 1e-12);
  EXPECT_NEAR(ventilation(1.25), 24 * 0.0378, 1e-12);
  EXPECT_NEAR(ventilation(2.5), 24 * 0.113, 1e-12);
  EXPECT_NEAR(ventilation(3.75), 24 * 0.236, 1e-12);
  EXPECT_NEAR(ventilation(20), 24 * 0.236, 1e-12);
  for (double above_k = -2; above_k < 6; above_k += 0.01)
    EXPECT_LE(ventilation(above_k), ventilation(above_k + 0.01)) << above_k;
}

// Inner loop of every run: with the flow fixed and no heater the day must land where the closed form lands.
TEST(RoomClimate, SettlesWhereHeatInEqualsHeatOut) {
  Room room;
  room.animal_heat_w = 0;
  room.lamp_w = 24 * 465;
  room.set_point_deg_c = 40;  // the room stays below: least ventilation throughout
  room.building.heater_w = 0;
  const RoomDay day = room.days(3, constant(0));
  const double loss = room.building.heat_loss_w_per_k + 1206 * 24 * 0.00944;
  EXPECT_NEAR(day.temperature_deg_c[23], 24 * 465 / loss, 1e-6);
  EXPECT_NEAR(day.mean_below_set_point_k, 40 - 24 * 465 / loss, 1e-6);
  EXPECT_EQ(day.mean_above_set_point_k, 0);
}

// A 24-crate room in winter, 21 degC, 340 W sensible and one lamp a crate: the heater is needed below -6 degC outdoors,
// +-5 (restated: a steady balance at least ventilation, computed from the same handbook rates).
TEST(RoomClimate, NeedsTheHeaterOnlyInHardFrost) {
  double warmest_heated_deg_c = -40;
  for (double outdoor_deg_c = -30; outdoor_deg_c <= 15; outdoor_deg_c += 1) {
    Room room;
    if (sum_of(room.days(3, constant(outdoor_deg_c)).heater_kwh) > 1) warmest_heated_deg_c = outdoor_deg_c;
  }
  EXPECT_NEAR(warmest_heated_deg_c, -6, 5);
}

TEST(RoomClimate, HeaterHoldsTheRoomBetweenItsSwitchPoints) {
  Room room;
  const RoomDay day = room.days(3, constant(-20));
  EXPECT_GT(sum_of(day.heater_kwh), 0);
  for (double deg_c : day.temperature_deg_c) {
    EXPECT_GT(deg_c, 21 - 1.0);
    EXPECT_LT(deg_c, 21 - 0.5);
  }
  EXPECT_NEAR(mean_of(day.temperature_deg_c), 21 - 0.75, 0.1) << "midway between on and off";
}

TEST(RoomClimate, AnimalsWarmItMoreByDay) {
  Room room;
  room.building.heater_w = 0;
  room.set_point_deg_c = 40;  // least ventilation throughout
  const RoomDay day = room.days(3, constant(0));
  EXPECT_GT(day.temperature_deg_c[17], day.temperature_deg_c[5] + 1);
}

// First law over a heated day with the ventilation at its least: what went in is what the loss took at the day's mean
// temperature, but for heat stored in the fabric.
TEST(RoomClimate, HeaterEnergyClosesTheBalance) {
  Room room;
  room.animal_heat_w = 0;
  room.days(2, constant(-10));
  const double start_deg_c = room.state.temperature_deg_c;
  const RoomDay day = room.days(1, constant(-10));
  const double loss_w_per_k = room.building.heat_loss_w_per_k + 1206 * 24 * 0.00944;
  const double out_j = loss_w_per_k * (mean_of(day.temperature_deg_c) + 10) * 86400;
  const double stored_j = room.building.heat_capacity_j_per_k * (room.state.temperature_deg_c - start_deg_c);
  EXPECT_NEAR(sum_of(day.heater_kwh) * 3.6e6 + room.lamp_w * 86400 - stored_j, out_j, 1e-6 * out_j);
}

// Full ventilation keeps a room 1-2 K above the air that enters (computed from the same rates: restated).
TEST(RoomClimate, SummerRoomIsALittleWarmerThanOutdoors) {
  Room room;
  room.lamp_w = 0;
  const RoomDay day = room.days(3, constant(32));
  const double rise_k = mean_of(day.temperature_deg_c) - 32;
  EXPECT_GT(rise_k, 0.5);
  EXPECT_LT(rise_k, 2);
  EXPECT_GT(day.mean_above_set_point_k, 10);
}

// Evaporative pad at 38 degC, 33 %: inlet 28.4, room 29.4 degC, +-2 (Iowa, July 2012; restated: the efficiency was
// entered). Inlet by the wet bulb of psychrolib 2.5, 24.472 degC: independent.
TEST(RoomClimate, PadCoolsTheInletAsMeasured) {
  Room room;
  room.building.pad = CoolingPad::evaporative;
  room.outdoor_humidity_pct = 33;
  room.lamp_w = 0;
  const RoomClimate climate{built_in(), room.building};
  EXPECT_NEAR(climate.inlet(38, 33).deg_c, 28.4, 2);
  EXPECT_NEAR(climate.inlet(38, 33).deg_c, 38 - 0.75 * (38 - 24.472), 0.02);
  EXPECT_NEAR(mean_of(room.days(3, constant(38)).temperature_deg_c), 29.4, 2);
  EXPECT_EQ(climate.inlet(23, 33).deg_c, 23) << "the pad is off when it is mild";
}

// Evaporation exchanges sensible for latent heat: the air's enthalpy (1.006 T + w (2501 + 1.86 T) kJ/kg, ASHRAE, from
// memory) grows only by that of the water it takes up, which is as warm as the wet bulb.
TEST(RoomClimate, PadKeepsTheEnthalpyOfAirAndWater) {
  RoomBuilding building = RoomBuilding::standard(built_in(), 24);
  const RoomClimate dry{built_in(), building};
  building.pad = CoolingPad::evaporative;
  const RoomClimate padded{built_in(), building};
  const Psychrometrics moist{built_in()};
  const auto enthalpy = [](const RoomClimate::Air& air) {
    return 1.006 * air.deg_c + air.humidity_ratio * (2501 + 1.86 * air.deg_c);
  };
  for (double deg_c : {28.0, 33.0, 38.0}) {
    for (double humidity_pct : {25.0, 50.0, 75.0}) {
      const auto before = dry.inlet(deg_c, humidity_pct), after = padded.inlet(deg_c, humidity_pct);
      const double water = 4.186 * moist.wet_bulb_deg_c(deg_c, humidity_pct);
      EXPECT_NEAR(enthalpy(after) - enthalpy(before), water * (after.humidity_ratio - before.humidity_ratio), 0.1)
          << deg_c << " degC, " << humidity_pct << " %";
    }
  }
}

// Fans switch in steps and the room hunts around a stage's switch point: by that the mean may go back, measured 0.14 K.
TEST(RoomClimate, WarmerOutdoorsMakesTheRoomWarmer) {
  double last_deg_c = -100;
  for (double outdoor_deg_c = -25; outdoor_deg_c <= 38; outdoor_deg_c += 1) {
    Room room;
    const double deg_c = mean_of(room.days(3, constant(outdoor_deg_c)).temperature_deg_c);
    EXPECT_GT(deg_c, last_deg_c - 0.2) << outdoor_deg_c;
    last_deg_c = deg_c;
  }
}

// Where stages switch the room is stepped by 5 min; halving the step must not move the day's mean.
TEST(RoomClimate, DoesNotDependOnTheStepWhereStagesSwitch) {
  const Coefficients finer = built_in().with_value("room.building.longest_step_while_stages_switch", 1);
  for (double outdoor_deg_c : {5.0, 12.0, 18.0, 24.0}) {
    Room room;
    const Hours outdoor = constant(outdoor_deg_c), humidity = constant(70), set_point = constant(21);
    const RoomDayInputs inputs{.outdoor_deg_c = outdoor,
                               .outdoor_relative_humidity_pct = humidity,
                               .set_point_deg_c = set_point,
                               .animal_heat_w = room.animal_heat_w,
                               .lamp_w = room.lamp_w};
    RoomState coarse_state = room.state, fine_state = room.state;
    const double coarse = mean_of(RoomClimate{built_in(), room.building}(coarse_state, inputs).temperature_deg_c);
    const double fine = mean_of(RoomClimate{finer, room.building}(fine_state, inputs).temperature_deg_c);
    EXPECT_NEAR(coarse, fine, 0.15) << outdoor_deg_c;
  }
}

TEST(RoomClimate, FollowsAFallingSetPoint) {
  Room warm, cool;
  cool.set_point_deg_c = 18;
  const double warm_deg_c = mean_of(warm.days(3, constant(5)).temperature_deg_c);
  const double cool_deg_c = mean_of(cool.days(3, constant(5)).temperature_deg_c);
  EXPECT_NEAR(warm_deg_c - cool_deg_c, 3, 0.5);
}

TEST(RoomClimate, HumidityIsTheWaterThatComesIn) {
  Room room;
  room.animal_heat_w = 0;
  room.set_point_deg_c = 15;
  room.lamp_w = 24 * 300;
  room.outdoor_humidity_pct = 80;
  const RoomDay day = room.days(2, constant(12));
  const Psychrometrics air{built_in()};
  EXPECT_NEAR(day.relative_humidity_pct[23],
              air.relative_humidity_pct(day.temperature_deg_c[23], air.humidity_ratio(12, 80)), 1e-9);
}

TEST(RoomClimate, AnimalsMoistenTheRoomWithinItsLimits) {
  Room with, without;
  without.animal_heat_w = 0;
  without.lamp_w = with.lamp_w + 24 * 340;
  const RoomDay wet = with.days(3, constant(0)), dry = without.days(3, constant(0));
  EXPECT_GT(mean_of(wet.relative_humidity_pct), mean_of(dry.relative_humidity_pct) + 10);
  Room steamy;
  steamy.outdoor_humidity_pct = 100;
  for (double humidity : steamy.days(2, constant(10)).relative_humidity_pct) {
    EXPECT_GE(humidity, 30);
    EXPECT_LE(humidity, 95);
  }
}

// Moisture balance of a ventilated space at rest, ASHRAE Fundamentals: the air takes away as much water as the animals
// give off, latent heat over heat of evaporation. Without lamps or heater, the latent part of their heat is what is not
// sensible.
TEST(RoomClimate, AirTakesAwayTheWaterThatAnimalsGiveOff) {
  Room room;
  room.lamp_w = 0;
  room.set_point_deg_c = 18;
  const RoomDay day = room.days(20, constant(12));
  const Psychrometrics air{built_in()};
  const double inside = air.humidity_ratio(day.temperature_deg_c[23], day.relative_humidity_pct[23]),
               outside = air.humidity_ratio(12, room.outdoor_humidity_pct);
  const double heat_loss_w = room.building.heat_loss_w_per_k * (day.temperature_deg_c[23] - 12);
  const double per_k_of_air = built_in().number("room.building.air_heat_capacity", "J/(m3 K)"),
               sensible_w = room.animal_heat_w * SensibleShare{built_in()}(day.temperature_deg_c[23]);
  const double flow_m3_per_s = (sensible_w - heat_loss_w) / (per_k_of_air * (day.temperature_deg_c[23] - 12));
  const double dry_air_kg_per_s = flow_m3_per_s * per_k_of_air / 1006;  // J/(kg K) of dry air
  const double water_g_per_h = 3600 * 1000 * dry_air_kg_per_s * (inside - outside);
  const double latent_w_h_per_g = 2501.0 / 3600;  // kJ/g at 0 degC, as the enthalpy of moist air counts it
  EXPECT_NEAR(water_g_per_h * latent_w_h_per_g, room.animal_heat_w - sensible_w, 0.05 * room.animal_heat_w);
}

TEST(RoomClimate, RefusesARoomWithoutWalls) {
  RoomBuilding building = RoomBuilding::standard(built_in(), 24);
  building.heat_capacity_j_per_k = 0;
  EXPECT_THROW(RoomClimate(built_in(), building), UserError);
}

}  // namespace
}  // namespace farrowtide
