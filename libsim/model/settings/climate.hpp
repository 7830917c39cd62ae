// The section `climate`: where the climate of a room comes from.
#pragma once

#include <string>
#include <vector>

#include "libsim/model/room/outdoor.hpp"
#include "libsim/scenario/section.hpp"

namespace farrowtide {

// Where a room's climate comes from.
enum class ClimateKind {
  balance,  // the room's own heat balance against the weather outdoors
  imposed,  // a chamber that holds what it is told
};
constexpr auto names(ClimateKind) {
  return std::to_array<Name<ClimateKind>>({{ClimateKind::balance, "balance"}, {ClimateKind::imposed, "imposed"}});
}

struct ClimateSettings {
  ClimateKind kind = ClimateKind::balance;
  std::string outdoor_preset;
  std::vector<double> hourly_deg_c, hourly_humidity_percent;  // an hourly record of the outdoor air
  OutdoorDay imposed{};

  static ClimateSettings read(Section& section);
};

}  // namespace farrowtide
