#include "libsim/model/settings/herd.hpp"

#include <numeric>

namespace farrowtide {
namespace {

void read_levels(Section& section, HerdSettings& herd) {
  herd.intake_level = section.number({.name = "intake_level",
                                      .low = 0.5,
                                      .high = 1.5,
                                      .help = "Appetite of the herd relative to the default curve.",
                                      .coefficient = "sow.appetite.curve.herd_factor"});
  herd.milk_level = section.number({.name = "milk_level",
                                    .low = 0.5,
                                    .high = 1.5,
                                    .help = "Milk yield of the herd relative to the default.",
                                    .coefficient = "sow.milk.potential.herd_factor"});
}

void read_deaths_and_disorders(Section& section, HerdSettings& herd) {
  herd.mortality = section.choice<Mortality>(
      {.name = "mortality",
       .default_value = "on",
       .help = "off: no stillbirths or piglet deaths, as in a trial with a fixed litter size."});
  herd.mortality_level_log = section.number({.name = "mortality_level",
                                             .unit = "log",
                                             .low = -2,
                                             .high = 2,
                                             .default_value = 0,
                                             .help = "Log hazard ratio of piglet death relative to the default herd.",
                                             .only_with = "herd.mortality: on"});
  herd.health = section.choice<Health>({.name = "health",
                                        .default_value = "on",
                                        .help = "off: no post-partum disorder (dysgalactia syndrome), leg problems, "
                                                "scours or sow deaths, as in a trial with "
                                                "healthy animals."});
  herd.health_level_logit = section.number(
      {.name = "health_level",
       .unit = "logit",
       .low = -3,
       .high = 3,
       .help = "Log odds ratio of the post-partum disorder relative to the default herd; higher is worse.",
       .coefficient = "sow.sow_effects.health_herd_level",
       .only_with = "herd.health: on"});
  herd.scours = section.choice<ScoursLevel>({.name = "scours",
                                             .default_value = "usual",
                                             .help = "Incidence of piglet scours; problem: a herd with an outbreak.",
                                             .only_with = "herd.health: on"});
}

}  // namespace

DescribedSow DescribedSow::read(Section& section) {
  DescribedSow sow;
  sow.parity =
      section.optional_integer({.name = "parity", .low = 1, .high = 12, .help = "Parity, including this farrowing."});
  sow.total_born = section.optional_integer(
      {.name = "total_born", .low = 1, .high = 30, .help = "Total piglets born, alive and stillborn."});
  sow.functional_teats = section.optional_integer(
      {.name = "functional_teats", .low = 4, .high = 22, .help = "Number of functional teats."});
  sow.farrows_on_day = section.optional_integer({.name = "farrows_on_day",
                                                 .low = 1,
                                                 .high = 14,
                                                 .help = "Day on which she farrows; day 0 is the day of loading."});
  sow.weight_after_farrowing_kg = section.optional_number(
      {.name = "weight", .unit = "kg", .low = 130, .high = 360, .help = "Body weight at loading, without the litter."});
  sow.backfat_mm = section.optional_number(
      {.name = "backfat", .unit = "mm", .low = 5, .high = 40, .help = "P2 backfat depth at loading."});
  return sow;
}

HerdSettings HerdSettings::read(Section& section) {
  HerdSettings herd;
  herd.parity_shares =
      section.numbers({.name = "parity_shares",
                       .low = 0,
                       .high = 1,
                       .min_items = 1,
                       .max_items = 12,
                       .help = "Shares of parity 1, 2, ... among the loaded sows; normalised to sum to 1.",
                       .coefficient = "sow.herd.parity_share"});
  if (std::accumulate(herd.parity_shares.begin(), herd.parity_shares.end(), 0.0) <= 0 && !section.describing())
    section.refuse("parity_shares", "are all 0", "a share above 0 for at least one parity");
  herd.every_sow = section.read<DescribedSow>("every_sow", "Traits that are the same in all sows, as in a trial.");
  herd.sows =
      section.read_list<DescribedSow>("sows", "Individually described sows; omitted traits are drawn at random.");
  read_levels(section, herd);
  read_deaths_and_disorders(section, herd);
  herd.new_feeder = section.boolean({.name = "new_feeder",
                                     .default_value = false,
                                     .help = "The feeder is of a type that first-parity sows have not used before."});
  herd.runts = section.boolean({.name = "runts",
                                .default_value = false,
                                .help = "Adds growth-retarded piglets to the default distribution of birth weights."});
  herd.late_gestation_feed_kg_per_day = section.number({.name = "late_gestation_feed",
                                                        .unit = "kg/d",
                                                        .low = 1,
                                                        .high = 6,
                                                        .default_value = 3,
                                                        .help = "Daily feed intake in the last week before loading."});
  return herd;
}

}  // namespace farrowtide
