#include "libsim/model/room_weather.hpp"

#include <numeric>

#include "libsim/record/rows.hpp"

namespace farrowtide {
namespace {

RoomBuilding building(const Coefficients& coefficients, const EquipmentSettings& equipment) {
  RoomBuilding building = RoomBuilding::standard(coefficients, equipment.crates);
  building.pad = equipment.pad;
  return building;
}

double mean_deg_c(const OutdoorDay& day) {
  return DayClimate::of(day.temperature_deg_c, day.relative_humidity_pct).mean_deg_c;
}

}  // namespace

Outdoors::Outdoors(const Coefficients& coefficients, const FarmSettings& settings, Draws draws)
    : settings_(settings), draws_(draws) {
  const ClimateSettings& climate = settings.climate;
  if (climate.kind == ClimateKind::imposed) return;
  if (!climate.hourly_deg_c.empty()) {
    series_.emplace(climate.hourly_deg_c, climate.hourly_humidity_percent);
  } else {
    generator_.emplace(coefficients, OutdoorClimate::preset(coefficients, climate.outdoor_preset));
    constexpr std::uint32_t before_the_first_hour = 0;
    deviation_ = draws.normal(Purpose::outdoor, room_entity, before_the_first_hour);
  }
}

OutdoorDay Outdoors::next() {
  if (series_) return series_->day(day_);
  std::array<double, 24> z;
  for (std::uint32_t hour = 0; hour < z.size(); ++hour) {
    z[hour] = draws_.normal(Purpose::outdoor, room_entity, 1 + static_cast<std::uint32_t>(day_) * 24 + hour);
  }
  return (*generator_)(settings_.day_of_year(day_), deviation_, z);
}

const OutdoorDay& Outdoors::day(int day) {
  while (day_ < day) {
    ++day_;
    today_ = next();
  }
  return today_;
}

RoomWeather::RoomWeather(const Coefficients& coefficients, const FarmSettings& settings, Outdoors& outdoors,
                         int loading_day)
    : settings_(settings),
      outdoors_(outdoors),
      loading_day_(loading_day),
      room_(coefficients, building(coefficients, settings.equipment)) {
  const ClimateSettings& climate = settings.climate;
  state_.temperature_deg_c =
      climate.kind == ClimateKind::imposed
          ? mean_deg_c(climate.imposed_on(-settings.loading->days_before_due(), settings.loading->days_before_due()))
          : settings.temperature->set_point_deg_c(view(loading_day, 0));
  yesterday_mean_deg_c_ = state_.temperature_deg_c;
}

TemperatureView RoomWeather::view(int day, int hour) const {
  return {.group_day = day - loading_day_ - settings_.loading->days_before_due(),
          .hour = hour,
          .deep_pit = settings_.equipment.deep_pit,
          .outdoor_mean_deg_c = outdoor_yesterday_deg_c_};
}

void RoomWeather::start_day(int day, double animal_heat_w, double lamp_w, RoomRecords& records) {
  if (day > loading_day_) yesterday_mean_deg_c_ = climate_.mean_deg_c;
  const OutdoorDay outside =
      settings_.climate.kind == ClimateKind::imposed
          ? settings_.climate.imposed_on(view(day, 0).group_day, settings_.loading->days_before_due())
          : outdoors_.day(day);
  std::array<double, 24> set_point_deg_c;
  for (int hour = 0; hour < 24; ++hour)
    set_point_deg_c[static_cast<std::size_t>(hour)] = settings_.temperature->set_point_deg_c(view(day, hour));
  outdoor_yesterday_deg_c_ =
      std::accumulate(outside.temperature_deg_c.begin(), outside.temperature_deg_c.end(), 0.0) / 24;
  if (settings_.climate.kind == ClimateKind::imposed) {
    today_ = {};
    today_.temperature_deg_c = outside.temperature_deg_c;
    today_.relative_humidity_pct = outside.relative_humidity_pct;
    set_point_deg_c = outside.temperature_deg_c;
  } else {
    today_ = room_(state_,
                   {outside.temperature_deg_c, outside.relative_humidity_pct, set_point_deg_c, animal_heat_w, lamp_w});
  }
  climate_ = DayClimate::of(today_.temperature_deg_c, today_.relative_humidity_pct);
  for (std::size_t hour = 0; hour < 24; ++hour) {
    records.write(RoomHourRow{.hour = day * 24 + static_cast<int>(hour),
                              .outdoor_deg_c = outside.temperature_deg_c[hour],
                              .temperature_deg_c = today_.temperature_deg_c[hour],
                              .set_point_deg_c = set_point_deg_c[hour],
                              .relative_humidity_percent = today_.relative_humidity_pct[hour],
                              .heater_kwh = today_.heater_kwh[hour]});
  }
}

}  // namespace farrowtide
