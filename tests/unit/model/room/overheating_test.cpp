#include "libsim/model/room/overheating.hpp"

#include <gtest/gtest.h>

#include <array>

namespace farrowtide {
namespace {

double death_per_day(double deg_c, double relative_humidity_pct, double cooling_k = 0) {
  static const Overheating overheating{Coefficients::built_in()};
  std::array<double, 24> temperature, humidity;
  temperature.fill(deg_c);
  humidity.fill(relative_humidity_pct);
  return overheating.death_per_day(temperature, humidity, cooling_k);
}

// Heitman & Hughes 1949: heavy pigs were in rapid distress at 35.6 degC and 94 %, not at 30 %.
TEST(Overheating, KillsInHotHumidAirOnly) {
  EXPECT_GT(death_per_day(35.6, 94), 0);
  EXPECT_EQ(death_per_day(35.6, 30), 0);
  EXPECT_EQ(death_per_day(32, 90), 0);
  EXPECT_NEAR(death_per_day(40, 100), 1.5, 0.01);
  EXPECT_LT(death_per_day(40, 100, 2), death_per_day(40, 100));
}

}  // namespace
}  // namespace farrowtide
