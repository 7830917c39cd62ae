// The section `climate`: the source of the room climate.
#pragma once

#include <string>
#include <vector>

#include "libsim/model/room/outdoor.hpp"
#include "libsim/scenario/section.hpp"

namespace farrowtide {

// Source of the room climate.
enum class ClimateKind {
  balance,  // the room's heat balance with the outdoor air
  imposed,  // a climate chamber at prescribed values
};
constexpr auto names(ClimateKind) {
  return std::to_array<Name<ClimateKind>>({{ClimateKind::balance, "balance"}, {ClimateKind::imposed, "imposed"}});
}

// From which day a list of days counts.
enum class DayZero { loading, due_date };
constexpr auto names(DayZero) {
  return std::to_array<Name<DayZero>>({{DayZero::loading, "loading"}, {DayZero::due_date, "due_date"}});
}

struct ClimateSettings {
  ClimateKind kind = ClimateKind::balance;
  std::string outdoor_preset;
  std::vector<double> hourly_deg_c, hourly_humidity_percent;  // hourly outdoor record, in place of the preset
  OutdoorDay imposed{};
  std::vector<double> imposed_by_day_deg_c;  // of the room, in place of a constant temperature
  DayZero imposed_from = DayZero::loading;   // the day of the first value

  // The climate imposed on a day counted from the mean due date, of a group loaded `days_before_due` days before it.
  OutdoorDay imposed_on(int day_of_group, int days_before_due) const;

  static ClimateSettings read(Section& section);
};

}  // namespace farrowtide
