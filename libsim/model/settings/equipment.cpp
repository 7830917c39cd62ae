#include "libsim/model/settings/equipment.hpp"

namespace farrowtide {

EquipmentSettings EquipmentSettings::read(Section& section) {
  EquipmentSettings equipment;
  equipment.crates = section.integer(
      {.name = "crates", .low = 1, .high = 500, .default_value = 24, .help = "Farrowing crates in the room."});
  equipment.deep_pit = section.boolean(
      {.name = "deep_pit", .default_value = false, .help = "A deep pit below the slats: set points are higher."});
  equipment.farrowing_place = section.choice<FarrowingPlace>(
      {.name = "farrowing_place",
       .default_value = "crate",
       .help =
           "Where sows farrow: a crate, or a pen (or a crate left open), where labour is shorter and crushing more."});
  equipment.pad = section.choice<CoolingPad>(
      {.name = "inlet", .default_value = "plain", .help = "Air inlet: plain, or through an evaporative pad."});
  equipment.sow_cooling = section.choice<SowCooling>(
      {.name = "sow_cooling", .default_value = "none", .help = "What cools the sow herself when it is warm."});
  equipment.drinker_flow_l_per_min = section.number({.name = "drinker_flow",
                                                     .unit = "L/min",
                                                     .low = 0.05,
                                                     .high = 10,
                                                     .help = "Mean flow of the drinkers when pressed.",
                                                     .coefficient = "room.drinkers.flow_mean"});
  equipment.drinker_flow_cv = section.number({.name = "drinker_flow_cv",
                                              .low = 0,
                                              .high = 1,
                                              .help = "Spread of the flow from crate to crate, over its mean.",
                                              .coefficient = "room.drinkers.flow_cv"});
  equipment.drinker_blockages = section.choice<Blockages>(
      {.name = "drinker_blockages", .default_value = "on", .help = "off: drinkers never clog."});
  equipment.trough_capacity_kg = section.number({.name = "trough_capacity",
                                                 .unit = "kg",
                                                 .low = 1,
                                                 .high = 12,
                                                 .help = "Feed a trough holds when it is filled by hand.",
                                                 .coefficient = "sow.trough.capacity"});
  equipment.light_from_h = section.integer({.name = "light_from",
                                            .low = 0,
                                            .high = 23,
                                            .help = "Clock hour at which the light goes on.",
                                            .coefficient = "sow.meals.clock.light_from"});
  equipment.light_until_h = section.integer({.name = "light_until",
                                             .low = 1,
                                             .high = 24,
                                             .help = "Clock hour at which the light goes off.",
                                             .coefficient = "sow.meals.clock.light_until"});
  if (equipment.light_until_h <= equipment.light_from_h) section.refuse("light_until", "must come after light_from");
  return equipment;
}

}  // namespace farrowtide
