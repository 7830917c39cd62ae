#include "libsim/model/settings/equipment.hpp"

namespace farrowtide {

EquipmentSettings EquipmentSettings::read(Section& section) {
  EquipmentSettings equipment;
  equipment.crates = section.integer(
      {.name = "crates", .low = 1, .high = 500, .default_value = 24, .help = "Number of farrowing crates in a room."});
  equipment.deep_pit = section.boolean({.name = "deep_pit",
                                        .default_value = false,
                                        .help = "Deep pit under the slats, which raises the set points.",
                                        .only_with = "climate.kind: balance"});
  equipment.farrowing_place =
      section.choice<FarrowingPlace>({.name = "farrowing_place",
                                      .default_value = "crate",
                                      .help = "Where sows farrow: in a crate, or in a pen (or an open crate), where "
                                              "labour is shorter but crushing is more "
                                              "common."});
  equipment.pad = section.choice<CoolingPad>({.name = "inlet",
                                              .default_value = "plain",
                                              .help = "Air inlet: plain, or with an evaporative cooling pad.",
                                              .only_with = "climate.kind: balance"});
  equipment.sow_cooling = section.choice<SowCooling>(
      {.name = "sow_cooling", .default_value = "none", .help = "Direct cooling of the sow in warm conditions."});
  equipment.drinker_flow_l_per_min = section.number({.name = "drinker_flow",
                                                     .unit = "L/min",
                                                     .low = 0.05,
                                                     .high = 10,
                                                     .help = "Mean flow rate of an activated drinker.",
                                                     .coefficient = "room.drinkers.flow_mean"});
  equipment.drinker_flow_cv = section.number({.name = "drinker_flow_cv",
                                              .low = 0,
                                              .high = 1,
                                              .help = "Coefficient of variation of drinker flow between crates.",
                                              .coefficient = "room.drinkers.flow_cv"});
  equipment.drinker_blockages = section.choice<Blockages>(
      {.name = "drinker_blockages", .default_value = "on", .help = "off: drinkers never clog."});
  equipment.trough_capacity_kg = section.number({.name = "trough_capacity",
                                                 .unit = "kg",
                                                 .low = 1,
                                                 .high = 12,
                                                 .help = "Capacity of a trough filled by hand or by machine. Feed "
                                                         "that does not fit is not delivered.",
                                                 .coefficient = "sow.trough.capacity"});
  equipment.feed_keeps_h =
      section.number({.name = "feed_keeps",
                      .unit = "h",
                      .low = 2,
                      .high = 96,
                      .help = "How long feed in a trough stays fit at 20 degC (68 degF). After that "
                              "sows take less and less of it, and it is removed as stale.",
                      .coefficient = "sow.trough.fit_for"});
  equipment.light_from_h = section.integer({.name = "light_from",
                                            .low = 0,
                                            .high = 23,
                                            .help = "Hour of the day at which the light is switched on.",
                                            .coefficient = "sow.meals.clock.light_from"});
  equipment.light_until_h = section.integer({.name = "light_until",
                                             .low = 1,
                                             .high = 24,
                                             .help = "Hour of the day at which the light is switched off.",
                                             .coefficient = "sow.meals.clock.light_until"});
  if (equipment.light_until_h <= equipment.light_from_h) section.refuse("light_until", "must be later than light_from");
  return equipment;
}

}  // namespace farrowtide
