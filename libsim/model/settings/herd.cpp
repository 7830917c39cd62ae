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
  herd.stillbirth_level_logit = section.number({.name = "stillbirth_level",
                                                .unit = "logit",
                                                .low = -3,
                                                .high = 3,
                                                .default_value = 0,
                                                .help = "Log odds ratio of stillbirth relative to the default herd.",
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
  herd.lameness_level_logit =
      section.number({.name = "lameness_level",
                      .unit = "logit",
                      .low = -5,
                      .high = 5,
                      .default_value = 0,
                      .help = "Log odds ratio of leg problems at loading relative to the default herd.",
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

namespace {

HerdDescription read_description(Section& section) {
  HerdDescription herd{};
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
  herd.total_born_mean = section.number({.name = "total_born_mean",
                                         .unit = "piglets",
                                         .low = 6,
                                         .high = 22,
                                         .help = "Mean litter size at birth, alive and stillborn, of all parities; "
                                                 "those of single parities keep their ratios.",
                                         .coefficient = "sow.herd.total_born_herd_mean"});
  herd.total_born_sd = section.number({.name = "total_born_sd",
                                       .unit = "piglets",
                                       .low = 0,
                                       .high = 6,
                                       .help = "Standard deviation of litter size within a parity.",
                                       .coefficient = "sow.herd.total_born_sd"});
  herd.weight_level = section.number({.name = "weight_level",
                                      .low = 0.6,
                                      .high = 1.4,
                                      .default_value = 1,
                                      .help = "Weight after farrowing relative to the default of the same parity."});
  herd.weight_cv = section.number({.name = "weight_cv",
                                   .low = 0,
                                   .high = 0.2,
                                   .help = "Coefficient of variation of weight after farrowing within a parity.",
                                   .coefficient = "sow.herd.weight_after_farrowing_cv"});
  herd.backfat_mean_mm = section.number({.name = "backfat_mean",
                                         .unit = "mm",
                                         .low = 8,
                                         .high = 30,
                                         .help = "Mean P2 backfat depth at loading.",
                                         .coefficient = "sow.herd.backfat_p2_mean"});
  herd.backfat_sd_mm = section.number({.name = "backfat_sd",
                                       .unit = "mm",
                                       .low = 0,
                                       .high = 8,
                                       .help = "Standard deviation of P2 backfat depth at loading.",
                                       .coefficient = "sow.herd.backfat_p2_sd"});
  return herd;
}

}  // namespace

HerdSettings HerdSettings::read(Section& section) {
  HerdSettings herd;
  herd.description = read_description(section);
  herd.birth_weight_mean_kg = section.number(
      {.name = "birth_weight_mean",
       .unit = "kg",
       .low = 0.9,
       .high = 2,
       .help = "Mean birth weight in a litter of the size at which the default is given, not of a first parity.",
       .coefficient = "litter.birth_weight.mean"});
  herd.birth_weight_sd_kg = section.number({.name = "birth_weight_sd",
                                            .unit = "kg",
                                            .low = 0,
                                            .high = 0.6,
                                            .help = "Standard deviation of birth weight within litters.",
                                            .coefficient = "litter.birth_weight.piglet_sd"});
  herd.nurse_sow_lactation_day =
      section.integer({.name = "nurse_sow_day",
                       .low = 4,
                       .high = 28,
                       .help = "Lactation day of a nurse sow when she comes in from another room. Nurse sows and the "
                               "weaning of their own litters are subject to local law.",
                       .coefficient = "staff.practice.nurse_sow_lactation_day"});
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
