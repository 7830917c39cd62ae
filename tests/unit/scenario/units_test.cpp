// Factors against their definitions: international pound and inch (1959), US gallon of 231 cubic inches, thermochemical
// calorie of 4.184 J, freezing at 32 degF and 0 degC.
#include "libsim/scenario/units.hpp"

#include <gtest/gtest.h>

#include <algorithm>

namespace farrowtide {
namespace {

struct Conversion {
  double value;
  const char* from;
  const char* to;
  double expected;
};

TEST(Units, ConvertsToTheLastBit) {
  const Conversion rows[] = {
      {72, "degF", "degC", 200.0 / 9},
      {77, "degF", "degC", 25},
      {-40, "degF", "degC", -40},
      {22.5, "degC", "degC", 22.5},
      {25, "degC", "degF", 77},
      {13, "lb", "kg", 13 * 0.45359237},
      {13, "lb/d", "kg/d", 13 * 0.45359237},
      {1, "oz", "lb", 1.0 / 16},
      {500, "g", "kg", 0.5},
      {2, "L/min", "L/min", 2},
      {120, "L/h", "L/min", 2},
      {1, "gal", "L", 3.785411784},
      {0.5, "gal/min", "L/min", 1.892705892},
      {30, "min", "h", 0.5},
      {1.5, "h", "min", 90},
      {2, "d", "h", 48},
      {1, "wk", "d", 7},
      {3300, "kcal/kg", "MJ/kg", 13.8072},
      {13.8, "MJ/kg", "kJ/g", 13.8},
      {1, "Mcal/d", "kcal/d", 1000},
      {2, "in", "mm", 50.8},
      {1, "ft2", "m2", 0.09290304},
      {15, "%", "-", 0.15},
      {0.15, "-", "%", 15},
      {1, "kW", "W", 1000},
      {1, "J/s", "W", 1},
      {6.1, "kg/d", "g/d", 6100},
      {1, "lb/piglet", "kg/piglets", 0.45359237},
      {7, "days", "d", 7},
  };
  for (const Conversion& row : rows) {
    const auto converted = convert(row.value, row.from, row.to);
    ASSERT_TRUE(converted) << row.value << ' ' << row.from << " in " << row.to;
    EXPECT_DOUBLE_EQ(*converted, row.expected) << row.value << ' ' << row.from << " in " << row.to;
  }
}

TEST(Units, ReadsADifferenceByScaleAlone) {
  EXPECT_DOUBLE_EQ(*convert(9, "degF", "K"), 5);
  EXPECT_DOUBLE_EQ(*convert(5, "degC", "K"), 5);
  EXPECT_DOUBLE_EQ(*convert(9, "W/degF", "W/K"), 16.2);
}

TEST(Units, RefusesWhatIsAnotherDimension) {
  const std::pair<const char*, const char*> rows[] = {
      {"K", "degC"}, {"kg", "L"},         {"kg/d", "kg"}, {"d", "-"},        {"degC", "kg"},   {"kg", "degC"},
      {"W", "kWh"},  {"piglets", "sows"}, {"lb", "kg/d"}, {"%", "kg"},       {"1/d", "d"},     {"", "kg"},
      {"kg/", "kg"}, {"furlong", "m"},    {"Kg", "kg"},   {"kg^0.75", "kg"}, {"mcal", "Mcal"},
  };
  for (const auto& [from, to] : rows) EXPECT_FALSE(convert(1, from, to)) << from << " in " << to;
}

TEST(Units, TakesAnUnknownUnitOnlyAsItself) {
  EXPECT_EQ(convert(3, "Mcal/kg^0.75/d", "Mcal/kg^0.75/d"), 3);
  EXPECT_EQ(units_like("Mcal/kg^0.75/d"), std::vector<std::string>{"Mcal/kg^0.75/d"});
}

TEST(Units, OffersOnlyUnitsItReads) {
  for (const char* unit : {"kg/d", "L/min", "degC", "K", "min", "kcal/kg", "W", "mm", "%", "m2"}) {
    const std::vector<std::string> offered = units_like(unit);
    EXPECT_EQ(offered.front(), unit);
    for (const std::string& other : offered) EXPECT_TRUE(convert(1, other, unit)) << other << " in " << unit;
  }
  const std::vector<std::string> weights = units_like("kg/d"), temperatures = units_like("degC");
  EXPECT_NE(std::find(weights.begin(), weights.end(), "lb/d"), weights.end());
  EXPECT_EQ(temperatures, (std::vector<std::string>{"degC", "degF"}));
}

}  // namespace
}  // namespace farrowtide
