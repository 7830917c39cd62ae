#include "libsim/scenario/units.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <span>

namespace farrowtide {
namespace {

enum Base { mass, length, time, kelvin, piglet, sow, crate, litter, teat, person, money, bases };
using Dimension = std::array<int, bases>;

constexpr Dimension none{};
constexpr Dimension of(Base base, int power = 1) {
  Dimension dimension{};
  dimension[base] = power;
  return dimension;
}
constexpr Dimension volume = of(length, 3);
constexpr Dimension energy = {1, 2, -2};  // kg m2/s2
constexpr Dimension power = {1, 2, -3};
constexpr Dimension pressure = {1, -1, -2};

// value in kg, m, s, K = value * numerator / denominator; both are whole, so there is at most one rounding. Exact by
// definition: lb (1959), in, US liquid gallon (231 in3), thermochemical calorie.
struct Unit {
  std::string_view name;
  Dimension dimension;
  double numerator;
  double denominator;
  bool offered = true;  // in messages; false for alternative spellings
};

constexpr Unit units[] = {
    {"-", none, 1, 1},
    {"%", none, 1, 100},
    {"1", none, 1, 1, false},
    {"percent", none, 1, 100, false},
    {"kg", of(mass), 1, 1},
    {"g", of(mass), 1, 1000},
    {"mg", of(mass), 1, 1e6},
    {"t", of(mass), 1000, 1},
    {"lb", of(mass), 45359237, 1e8},
    {"oz", of(mass), 45359237, 16e8},
    {"lbs", of(mass), 45359237, 1e8, false},
    {"m", of(length), 1, 1},
    {"cm", of(length), 1, 100},
    {"mm", of(length), 1, 1000},
    {"in", of(length), 254, 1e4},
    {"ft", of(length), 3048, 1e4},
    {"m2", of(length, 2), 1, 1},
    {"ft2", of(length, 2), 9290304, 1e8},
    {"L", volume, 1, 1000},
    {"mL", volume, 1, 1e6},
    {"m3", volume, 1, 1},
    {"gal", volume, 3785411784, 1e12},
    {"ft3", volume, 28316846592, 1e12},
    {"l", volume, 1, 1000, false},
    {"ml", volume, 1, 1e6, false},
    {"s", of(time), 1, 1},
    {"min", of(time), 60, 1},
    {"h", of(time), 3600, 1},
    {"d", of(time), 86400, 1},
    {"wk", of(time), 604800, 1},
    {"hours", of(time), 3600, 1, false},
    {"hour", of(time), 3600, 1, false},
    {"minutes", of(time), 60, 1, false},
    {"minute", of(time), 60, 1, false},
    {"days", of(time), 86400, 1, false},
    {"day", of(time), 86400, 1, false},
    {"seconds", of(time), 1, 1, false},
    {"weeks", of(time), 604800, 1, false},
    {"week", of(time), 604800, 1, false},
    {"K", of(kelvin), 1, 1},
    {"degC", of(kelvin), 1, 1},
    {"degF", of(kelvin), 5, 9},
    {"°C", of(kelvin), 1, 1, false},
    {"°F", of(kelvin), 5, 9, false},
    {"MJ", energy, 1e6, 1},
    {"kJ", energy, 1000, 1},
    {"J", energy, 1, 1},
    {"kcal", energy, 4184, 1},
    {"Mcal", energy, 4184000, 1},
    {"kWh", energy, 3600000, 1},
    {"W", power, 1, 1},
    {"kW", power, 1000, 1},
    {"Pa", pressure, 1, 1},
    {"kPa", pressure, 1000, 1},
    {"piglet", of(piglet), 1, 1},
    {"piglets", of(piglet), 1, 1, false},
    {"sow", of(sow), 1, 1},
    {"sows", of(sow), 1, 1, false},
    {"crate", of(crate), 1, 1},
    {"crates", of(crate), 1, 1, false},
    {"litter", of(litter), 1, 1},
    {"litters", of(litter), 1, 1, false},
    {"teat", of(teat), 1, 1},
    {"teats", of(teat), 1, 1, false},
    {"person", of(person), 1, 1},
    {"people", of(person), 1, 1, false},
    {"money", of(money), 1, 1},
};

const Unit* find_unit(std::string_view name) {
  const auto unit =
      std::find_if(std::begin(units), std::end(units), [&](const Unit& other) { return other.name == name; });
  return unit == std::end(units) ? nullptr : unit;
}

struct Factor {
  const Unit* unit;
  int power;  // 1, or -1 behind a "/"
};

// "kg/d" is kg and 1/d; empty if a unit is not in the table.
std::optional<std::vector<Factor>> factors_of(std::string_view text) {
  std::vector<Factor> factors;
  for (int power_of_next = 1;; power_of_next = -1) {
    const std::size_t slash = text.find('/');
    const Unit* unit = find_unit(text.substr(0, slash));
    if (!unit) return {};
    factors.push_back({unit, power_of_next});
    if (slash == std::string_view::npos) return factors;
    text.remove_prefix(slash + 1);
  }
}

Dimension dimension_of(std::span<const Factor> factors) {
  Dimension dimension{};
  for (const Factor& factor : factors) {
    for (std::size_t base = 0; base < bases; ++base) dimension[base] += factor.power * factor.unit->dimension[base];
  }
  return dimension;
}

// Cancels the factors common to both, so that "13 lb/d" in kg/d is 13 lb in kg to the last bit.
void cancel(std::vector<Factor>& from, std::vector<Factor>& to) {
  std::erase_if(from, [&](const Factor& factor) {
    const auto same = std::find_if(to.begin(), to.end(), [&](const Factor& other) {
      return other.unit == factor.unit && other.power == factor.power;
    });
    if (same == to.end()) return false;
    to.erase(same);
    return true;
  });
}

double scaled(double value, std::vector<Factor> from, std::vector<Factor> to) {
  cancel(from, to);
  double numerator = 1, denominator = 1;
  const auto multiply = [&](const Unit& unit, bool up) {
    numerator *= up ? unit.numerator : unit.denominator;
    denominator *= up ? unit.denominator : unit.numerator;
  };
  for (const Factor& factor : from) multiply(*factor.unit, factor.power > 0);
  for (const Factor& factor : to) multiply(*factor.unit, factor.power < 0);
  return value * numerator / denominator;
}

enum class Scale { celsius, fahrenheit, other };

Scale scale_of(std::string_view unit) {
  if (unit == "degC" || unit == "°C") return Scale::celsius;
  return unit == "degF" || unit == "°F" ? Scale::fahrenheit : Scale::other;
}

// Exact for whole degrees that are whole on the other scale.
std::optional<double> convert_temperature(double value, Scale from, Scale to) {
  if (from == Scale::other) return {};
  if (from == to) return value;
  return to == Scale::celsius ? (value - 32) * 5 / 9 : value * 9 / 5 + 32;
}

}  // namespace

std::optional<double> convert(double value, std::string_view from, std::string_view to) {
  if (from == to) return value;
  if (scale_of(to) != Scale::other) return convert_temperature(value, scale_of(from), scale_of(to));
  const auto from_factors = factors_of(from);
  const auto to_factors = factors_of(to);
  if (!from_factors || !to_factors || dimension_of(*from_factors) != dimension_of(*to_factors)) return {};
  return scaled(value, *from_factors, *to_factors);
}

std::vector<std::string> units_like(std::string_view unit) {
  std::vector<std::string> offered{std::string(unit)};
  const std::size_t slash = std::min(unit.find('/'), unit.size());
  const Unit* first = find_unit(unit.substr(0, slash));
  if (!first || !factors_of(unit)) return offered;
  for (const Unit& other : units) {
    const std::string candidate = std::string(other.name) + std::string(unit.substr(slash));
    if (other.offered && other.name != first->name && other.dimension == first->dimension &&
        convert(1, candidate, unit)) {
      offered.push_back(candidate);
    }
  }
  return offered;
}

}  // namespace farrowtide
