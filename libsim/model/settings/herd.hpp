// The section `herd`: the sows, drawn at random or described individually, and herd-level parameters.
#pragma once

#include <optional>
#include <vector>

#include "libsim/model/litter/scours.hpp"
#include "libsim/model/sow/herd.hpp"
#include "libsim/scenario/section.hpp"

namespace farrowtide {

// A sow described individually in the scenario; omitted traits are drawn at random.
struct DescribedSow {
  std::optional<int> parity, total_born, functional_teats, farrows_on_day;
  std::optional<double> weight_after_farrowing_kg, backfat_mm;

  static DescribedSow read(Section& section);
};

enum class Mortality { on, off };
constexpr auto names(Mortality) {
  return std::to_array<Name<Mortality>>({{Mortality::on, "on"}, {Mortality::off, "off"}});
}
enum class Health { on, off };
constexpr auto names(Health) { return std::to_array<Name<Health>>({{Health::on, "on"}, {Health::off, "off"}}); }

struct HerdSettings {
  HerdDescription description{};
  double birth_weight_mean_kg = 0, birth_weight_sd_kg = 0;  // the SD within litters
  int nurse_sow_lactation_day = 0;                          // when one comes in
  DescribedSow every_sow;                                   // traits that are the same in all sows
  std::vector<DescribedSow> sows;                           // described individually; if empty, one drawn sow per crate
  double intake_level = 1;                                  // multiplier c of the appetite curve
  double milk_level = 1;
  Mortality mortality = Mortality::on;  // off: as in a trial with a fixed litter size
  Health health = Health::on;           // off: no disorder, leg problems, scours or sow deaths
  double health_level_logit = 0;        // of the post-partum disorder, relative to the default herd
  double mortality_level_log = 0;       // hazard of piglet death, relative to the default herd
  double stillbirth_level_logit = 0;    // relative to the default herd
  double lameness_level_logit = 0;      // leg problems at loading, relative to the default herd
  ScoursLevel scours = ScoursLevel::usual;
  bool new_feeder = false;  // of a type that first-parity sows have not used before
  bool runts = false;       // adds growth-retarded piglets, which the fits of weight and survival exclude
  double late_gestation_feed_kg_per_day = 0;

  static HerdSettings read(Section& section);
};

}  // namespace farrowtide
