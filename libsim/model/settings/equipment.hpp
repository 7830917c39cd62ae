// The section `room`: a farrowing room and its equipment.
#pragma once

#include "libsim/model/litter/farrowing.hpp"
#include "libsim/model/room/heat_balance.hpp"
#include "libsim/model/sow/effective_temperature.hpp"
#include "libsim/scenario/section.hpp"

namespace farrowtide {

enum class Blockages { on, off };
constexpr auto names(Blockages) {
  return std::to_array<Name<Blockages>>({{Blockages::on, "on"}, {Blockages::off, "off"}});
}

struct EquipmentSettings {
  int crates = 0;
  FarrowingPlace farrowing_place = FarrowingPlace::crate;
  bool deep_pit = false;
  CoolingPad pad = CoolingPad::none;
  double trough_capacity_kg = 0, feed_keeps_h = 0;
  double light_from_h = 0, light_until_h = 0;
  SowCooling sow_cooling = SowCooling::none;
  double drinker_flow_l_per_min = 0, drinker_flow_cv = 0;
  Blockages drinker_blockages = Blockages::on;

  static EquipmentSettings read(Section& section);
};

}  // namespace farrowtide
