// The climate of a room day by day: from its heat balance with the outdoor air, or imposed as in a climate chamber.
#pragma once

#include <optional>

#include "libsim/model/farm_settings.hpp"
#include "libsim/model/purpose.hpp"
#include "libsim/model/room/heat_balance.hpp"
#include "libsim/model/room/outdoor.hpp"
#include "libsim/model/room_records.hpp"
#include "libsim/model/sow/effective_temperature.hpp"

namespace farrowtide {

// The outdoor climate day by day, the same for all rooms of a farm.
class Outdoors {
 public:
  Outdoors(const Coefficients& coefficients, const FarmSettings& settings, Draws draws);

  // Days must be requested in ascending order; the latest one may be requested repeatedly.
  const OutdoorDay& day(int day);

 private:
  OutdoorDay next();

  const FarmSettings& settings_;
  Draws draws_;
  std::optional<OutdoorGenerator> generator_;
  std::optional<OutdoorSeries> series_;
  double deviation_ = 0;  // autocorrelated temperature deviation, carried from hour to hour [SD]
  int day_ = -1;
  OutdoorDay today_{};
};

class RoomWeather {
 public:
  RoomWeather(const Coefficients& coefficients, const FarmSettings& settings, Outdoors& outdoors, int loading_day);

  // Calculates and records the next 24 hours of the room, given yesterday's animal heat and the lamps' heat [W].
  void start_day(int day, double animal_heat_w, double lamp_w, RoomRecords& records);

  const RoomDay& today() const { return today_; }
  const DayClimate& climate() const { return climate_; }
  double yesterday_mean_deg_c() const { return yesterday_mean_deg_c_; }

 private:
  TemperatureView view(int day, int hour) const;

  const FarmSettings& settings_;
  Outdoors& outdoors_;
  int loading_day_;
  RoomClimate room_;
  std::optional<double> outdoor_yesterday_deg_c_;
  RoomState state_{};
  RoomDay today_;
  DayClimate climate_;
  double yesterday_mean_deg_c_ = 0;
};

}  // namespace farrowtide
