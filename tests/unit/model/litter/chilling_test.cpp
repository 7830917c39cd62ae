#include "libsim/model/litter/chilling.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {
namespace {

const Coefficients coefficients = Coefficients::built_in();
const Chilling chilling{coefficients};

// From memory: 30, 27 and 24 degC huddled at 0, 2 and 7 d. Restated.
TEST(Chilling, LowerCriticalTemperatureFallsWithAge) {
  EXPECT_EQ(chilling.lower_critical_deg_c(0), 30);
  EXPECT_EQ(chilling.lower_critical_deg_c(2), 27);
  EXPECT_NEAR(chilling.lower_critical_deg_c(4.5), 25.5, 1e-12);
  EXPECT_EQ(chilling.lower_critical_deg_c(40), 19);
}

// Herpin et al. 1994, Exp Physiol 79:1011: +74 % heat 10 K below the critical temperature. Here as milk energy not
// grown: 0.74 x 97 kcal/kg^0.75 over 4.92 kcal/g for a piglet of 1 kg. Restated.
TEST(Chilling, CostsTheMilkThatKeepsAPigletWarm) {
  EXPECT_NEAR(chilling.gain_loss_g_per_day(1, 2, 17), 0.74 * 97 / 4.92, 1e-9);
  EXPECT_NEAR(chilling.gain_loss_g_per_day(16, 2, 17), 8 * 0.74 * 97 / 4.92, 1e-9);
  EXPECT_EQ(chilling.gain_loss_g_per_day(1, 2, 27), 0);
  EXPECT_EQ(chilling.gain_loss_g_per_day(1, 0.5, 10), 0) << "on the first day cold acts through colostrum";
}

// Where piglets lie: the room and the creep's lead over it, as MicroClimate has it.
double creep_deg_c(double room_deg_c, int day) {
  const auto creep = [](const char* name, const char* unit) {
    return coefficients.number(std::string{"room.micro_climate."} + name, unit);
  };
  const double part = std::min(1.0, (day - 1) / (creep("creep_later_by_day", "d") - 1));
  return room_deg_c + std::lerp(creep("creep_day_1", "K"), creep("creep_later", "K"), part);
}

// Milk and growth were fitted without chilling: the usual creep must not chill, at the set points of the default room.
TEST(Chilling, SparesPigletsInTheUsualCreep) {
  const double farrowing = coefficients.number("room.set_point.farrowing", "degC");
  const double later = coefficients.number("room.set_point.later", "degC");
  const double later_by = coefficients.number("room.set_point.later_by_day", "d");
  for (int day = 1; day <= 28; ++day) {
    const double room_deg_c = std::lerp(farrowing, later, std::min(1.0, day / later_by));
    EXPECT_EQ(chilling.gain_loss_g_per_day(2, day, creep_deg_c(room_deg_c, day)), 0) << "day " << day;
  }
  EXPECT_GT(chilling.gain_loss_g_per_day(4, 14, creep_deg_c(14, 14)), 10) << "a cold room does chill";
}

}  // namespace
}  // namespace farrowtide
