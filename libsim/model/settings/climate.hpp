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

struct ClimateSettings {
  ClimateKind kind = ClimateKind::balance;
  std::string outdoor_preset;
  std::vector<double> hourly_deg_c, hourly_humidity_percent;  // hourly outdoor record, in place of the preset
  OutdoorDay imposed{};

  static ClimateSettings read(Section& section);
};

}  // namespace farrowtide
