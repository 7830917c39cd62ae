#include "libsim/model/room/psychrometrics.hpp"

#include <gtest/gtest.h>

namespace farrowtide {
namespace {

const Coefficients& built_in() {
  static const Coefficients coefficients = Coefficients::built_in();
  return coefficients;
}

// Reference values of psychrolib 2.5 (ASHRAE formulations, iterative) at 101325 Pa: independent.
struct Row {
  double deg_c, humidity_pct, wet_bulb_deg_c, humidity_ratio;
};
constexpr Row reference[] = {
    {0, 60, -2.356, 0.002259},  {0, 80, -1.155, 0.003016},  {0, 100, 0.0, 0.003774},    {10, 20, 2.528, 0.001511},
    {10, 40, 4.563, 0.003030},  {10, 60, 6.481, 0.004556},  {10, 80, 8.290, 0.006089},  {10, 100, 10.0, 0.007630},
    {20, 5, 6.731, 0.000719},   {20, 20, 9.271, 0.002884},  {20, 40, 12.355, 0.005796}, {20, 60, 15.144, 0.008734},
    {20, 80, 17.679, 0.011701}, {20, 100, 20.0, 0.014695},  {30, 5, 11.914, 0.001306},  {30, 20, 15.704, 0.005257},
    {30, 40, 20.064, 0.010603}, {30, 60, 23.812, 0.016041}, {30, 80, 27.091, 0.021573}, {30, 100, 30.0, 0.027203},
    {38, 5, 15.730, 0.002042},  {38, 20, 20.767, 0.008249}, {38, 40, 26.269, 0.016720}, {38, 60, 30.803, 0.025421},
    {38, 80, 34.654, 0.034363}, {38, 100, 38.0, 0.043555},  {45, 5, 18.901, 0.002958},  {45, 20, 25.206, 0.012004},
    {45, 40, 31.761, 0.024481}, {45, 60, 36.972, 0.037458}, {45, 80, 41.298, 0.050968}, {45, 100, 45.0, 0.065042},
};

TEST(Psychrometrics, WetBulbAgreesWithTheReference) {
  const Psychrometrics air{built_in()};
  for (const Row& row : reference)
    EXPECT_NEAR(air.wet_bulb_deg_c(row.deg_c, row.humidity_pct), row.wet_bulb_deg_c, 0.05)
        << row.deg_c << " degC, " << row.humidity_pct << " %";
}

// At its wet bulb dry air gives off, by cooling, the heat that evaporates water up to saturation: ASHRAE's heats of
// 1.006 kJ/(kg K) and 2501 - 2.326 t kJ/kg, from memory.
TEST(Psychrometrics, WetBulbOfDryAirIsWhereItsHeatHasEvaporatedTheWater) {
  const Psychrometrics air{built_in()};
  for (const double deg_c : {20.0, 30.0, 45.0}) {
    const double wet = air.wet_bulb_deg_c(deg_c, 0);
    EXPECT_LT(wet, deg_c - 10);
    EXPECT_NEAR(1.006 * (deg_c - wet), air.humidity_ratio(wet, 100) * (2501 - 2.326 * wet), 1e-3);
  }
}

// psychrolib 2.5 at 95000 Pa. Independent.
TEST(Psychrometrics, WetBulbFollowsThePressure) {
  const Psychrometrics air{built_in().with_value("room.moisture.pressure", 95000)};
  EXPECT_NEAR(air.wet_bulb_deg_c(30, 40), 19.864, 0.05);
  EXPECT_NEAR(air.wet_bulb_deg_c(38, 20), 20.427, 0.05);
}

// Where water may or may not have frozen the balance has two solutions, 0.6 K apart at most (psychrolib takes either).
TEST(Psychrometrics, WetBulbRisesWithHumidityUpToTheDryBulb) {
  const Psychrometrics air{built_in()};
  for (double deg_c = 0; deg_c <= 45; ++deg_c) {
    double last = -100;
    for (double humidity_pct = 5; humidity_pct <= 100; ++humidity_pct) {
      const double wet = air.wet_bulb_deg_c(deg_c, humidity_pct);
      EXPECT_GT(wet, last - (wet >= 0 && last < 0 ? 0.6 : 0)) << deg_c << " degC, " << humidity_pct << " %";
      EXPECT_LE(wet, deg_c + 1e-9);
      last = wet;
    }
    EXPECT_NEAR(last, deg_c, 1e-9);
  }
}

TEST(Psychrometrics, HumidityRatioAgreesWithTheReference) {
  const Psychrometrics air{built_in()};
  for (const Row& row : reference)
    EXPECT_NEAR(air.humidity_ratio(row.deg_c, row.humidity_pct), row.humidity_ratio, 0.006 * row.humidity_ratio)
        << row.deg_c << " degC, " << row.humidity_pct << " %";
}

// Stull 2011, J Appl Meteorol Climatol 50:2267, worked example: 20 degC, 50 % gives 13.7 degC (value from memory; his
// form is within 0.3 K there).
TEST(Psychrometrics, WetBulbGivesThePublishedExample) {
  EXPECT_NEAR(Psychrometrics{built_in()}.wet_bulb_deg_c(20, 50), 13.7, 0.3);
}

// Steam tables (IAPWS, from psychrolib's ASHRAE form): 611.2, 1228.0, 2338.8, 4246.0, 6631.5, 9593.2 Pa. Independent.
TEST(Psychrometrics, SaturationPressureAgreesWithSteamTables) {
  const Psychrometrics air{built_in()};
  struct Point {
    double deg_c, pa;
  };
  for (const auto& [deg_c, pa] :
       {Point{0, 611.2}, Point{10, 1228.0}, Point{20, 2338.8}, Point{30, 4246.0}, Point{38, 6631.5}, Point{45, 9593.2}})
    EXPECT_NEAR(air.saturation_pressure_pa(deg_c), pa, 0.005 * pa) << deg_c;
}

TEST(Psychrometrics, DensityAgreesWithTheReference) {
  const Psychrometrics air{built_in()};
  EXPECT_NEAR(air.dry_air_density_kg_per_m3(20, 0.007), 1.19075, 2e-4);
  EXPECT_NEAR(air.dry_air_density_kg_per_m3(35, 0.020), 1.10985, 2e-4);
}

TEST(Psychrometrics, RelativeHumidityUndoesTheHumidityRatio) {
  const Psychrometrics air{built_in()};
  for (double deg_c : {-20.0, 0.0, 21.0, 40.0})
    for (double humidity_pct : {5.0, 50.0, 100.0})
      EXPECT_NEAR(air.relative_humidity_pct(deg_c, air.humidity_ratio(deg_c, humidity_pct)), humidity_pct, 1e-9);
}

TEST(Psychrometrics, AirAtItsDewPointIsSaturated) {
  const Psychrometrics air{built_in()};
  EXPECT_NEAR(air.relative_humidity_at_dew_point_pct(15, 15), 100, 1e-12);
  EXPECT_EQ(air.relative_humidity_at_dew_point_pct(15, 18), 100);
  EXPECT_LT(air.relative_humidity_at_dew_point_pct(25, 15), 60);
}

}  // namespace
}  // namespace farrowtide
