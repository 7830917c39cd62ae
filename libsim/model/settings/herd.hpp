// The section `herd`: the sows, drawn or described one by one, and the levels of the herd.
#pragma once

#include <optional>
#include <vector>

#include "libsim/model/litter/scours.hpp"
#include "libsim/scenario/section.hpp"

namespace farrowtide {

// A sow that the scenario describes by herself; what is left out is drawn.
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
  std::vector<double> parity_shares;
  DescribedSow every_sow;          // what is the same in all of them
  std::vector<DescribedSow> sows;  // one by one; empty: as many as there are crates
  double intake_level = 1;         // c, against the appetite curve
  double milk_level = 1;
  Mortality mortality = Mortality::on;  // off: a trial that kept its litters at a fixed size
  Health health = Health::on;           // off: no disorder, leg trouble, scours or loss of sows
  double health_level_logit = 0;        // of the post-partum disorder, against the usual herd
  double mortality_level_log = 0;       // of piglet deaths, against the usual herd
  ScoursLevel scours = ScoursLevel::usual;
  bool new_feeder = false;  // of a kind that first-parity sows have not eaten from before
  bool runts = false;       // growth-retarded piglets, left out where weights and survival were fitted
  double late_gestation_feed_kg_per_day = 0;

  static HerdSettings read(Section& section);
};

}  // namespace farrowtide
