#include "libsim/model/room/outdoor.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <vector>

#include "libsim/kernel/errors.hpp"

namespace farrowtide {
namespace {

const Coefficients& built_in() {
  static const Coefficients coefficients = Coefficients::built_in();
  return coefficients;
}

OutdoorGenerator generator(std::string_view preset) { return {built_in(), OutdoorClimate::preset(built_in(), preset)}; }

constexpr std::array<double, 24> no_surprise{};

TEST(OutdoorGenerator, PeaksOnAJulyAfternoonInTheNorth) {
  const OutdoorGenerator iowa = generator("iowa");
  EXPECT_NEAR(iowa.harmonic_deg_c(200, 15), 10 + 15 + 5.5, 1e-12);
  EXPECT_LT(iowa.harmonic_deg_c(18, 15), iowa.harmonic_deg_c(200, 15) - 25);
  EXPECT_NEAR(iowa.harmonic_deg_c(200, 3), 10 + 15 - 5.5, 1e-12);
}

TEST(OutdoorGenerator, PeaksInJanuaryInTheSouth) {
  const OutdoorGenerator parana = generator("parana");
  EXPECT_GT(parana.harmonic_deg_c(18, 15), parana.harmonic_deg_c(200, 15));
}

TEST(OutdoorGenerator, HasTheYearsMean) {
  const OutdoorGenerator denmark = generator("denmark");
  double sum = 0;
  for (int day = 0; day < 365; ++day)
    for (int hour = 0; hour < 24; ++hour) sum += denmark.harmonic_deg_c(day, hour);
  EXPECT_NEAR(sum / 365 / 24, 9, 1e-9);
}

TEST(OutdoorGenerator, WithoutSurpriseIsTheHarmonic) {
  const OutdoorGenerator brittany = generator("brittany");
  double deviation = 0;
  const OutdoorDay day = brittany(100, deviation, no_surprise);
  for (int hour = 0; hour < 24; ++hour)
    EXPECT_EQ(day.temperature_deg_c[hour], brittany.harmonic_deg_c(100, hour)) << hour;
  EXPECT_EQ(deviation, 0);
}

// Richardson 1981, from memory: day-to-day correlation .62-.67 (restated in the hourly coefficient); SD 4.5 K in
// winter, 2.75 K in summer.
TEST(OutdoorGenerator, DeviationsPersistForADayAndAreWiderInWinter) {
  const OutdoorGenerator iowa = generator("iowa");
  double summer = 1, winter = 1;
  const OutdoorDay july = iowa(200, summer, no_surprise);
  const OutdoorDay january = iowa(200 - 182, winter, no_surprise);
  EXPECT_GT(summer, .62);
  EXPECT_LT(summer, .67);
  EXPECT_NEAR(july.temperature_deg_c[0] - iowa.harmonic_deg_c(200, 0), 2.75 * 0.982, 1e-9);
  EXPECT_NEAR(january.temperature_deg_c[0] - iowa.harmonic_deg_c(18, 0), 4.5 * 0.982, 1e-3);
}

TEST(OutdoorGenerator, DeviationKeepsUnitVariance) {
  const OutdoorGenerator iowa = generator("iowa");
  double variance = 0;  // of the deviation after a day: sum of squared responses to the start and to each z
  for (int source = -1; source < 24; ++source) {
    std::array<double, 24> z{};
    double deviation = source < 0 ? 1 : 0;
    if (source >= 0) z[source] = 1;
    iowa(50, deviation, z);
    variance += deviation * deviation;
  }
  EXPECT_NEAR(variance, 1, 1e-12);
}

TEST(OutdoorGenerator, IsDampAtDawnAndDrierInTheAfternoon) {
  double deviation = 0;
  const OutdoorDay humid = generator("iowa")(200, deviation, no_surprise);
  const OutdoorDay dry = generator("aragon")(200, deviation, no_surprise);
  EXPECT_GT(humid.relative_humidity_pct[3], 90);
  EXPECT_LT(humid.relative_humidity_pct[15], 60);
  EXPECT_LT(dry.relative_humidity_pct[3], humid.relative_humidity_pct[3]);
  for (double humidity : humid.relative_humidity_pct) EXPECT_LE(humidity, 100);
}

TEST(OutdoorClimate, NamesThePresetsItKnows) {
  try {
    OutdoorClimate::preset(built_in(), "atlantis");
    FAIL() << "an unknown preset was taken";
  } catch (const UserError& error) {
    EXPECT_NE(std::string(error.what()).find("(there are iowa, "), std::string::npos) << error.what();
    EXPECT_NE(std::string(error.what()).find(", central_thailand"), std::string::npos) << error.what();
  }
}

TEST(OutdoorSeries, GivesItsDaysAndNoMore) {
  std::vector<double> deg_c, humidity_pct;
  for (int hour = 0; hour < 60; ++hour) {
    deg_c.push_back(hour);
    humidity_pct.push_back(100 - hour);
  }
  const OutdoorSeries series{deg_c, humidity_pct};
  EXPECT_EQ(series.days(), 2);
  EXPECT_EQ(series.day(1).temperature_deg_c[3], 27);
  EXPECT_EQ(series.day(1).relative_humidity_pct[3], 73);
  EXPECT_THROW(series.day(2), UserError);
  EXPECT_THROW(series.day(-1), UserError);
  humidity_pct.pop_back();
  EXPECT_THROW(OutdoorSeries(deg_c, humidity_pct), UserError);
  EXPECT_THROW(OutdoorSeries(std::vector<double>(23), std::vector<double>(23)), UserError);
}

TEST(OutdoorDay, CanBeConstant) {
  const OutdoorDay day = OutdoorDay::constant(29, 60);
  for (int hour = 0; hour < 24; ++hour) {
    EXPECT_EQ(day.temperature_deg_c[hour], 29);
    EXPECT_EQ(day.relative_humidity_pct[hour], 60);
  }
}

TEST(OutdoorSeries, CountsWholeDaysOfAMonth) {
  const std::vector<double> hours(26 * 24 - 1, 10);
  EXPECT_EQ(OutdoorSeries(hours, hours).days(), 25) << "an hour less than 26 days";
}

}  // namespace
}  // namespace farrowtide
