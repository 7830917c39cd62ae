// The traits of a sow at loading: drawn by her number, and thus the same under every policy.
#pragma once

#include "libsim/kernel/time.hpp"
#include "libsim/model/biology.hpp"
#include "libsim/model/farm_settings.hpp"
#include "libsim/model/purpose.hpp"
#include "libsim/model/room_records.hpp"
#include "libsim/model/sow/herd.hpp"
#include "libsim/model/sow/milk.hpp"

namespace farrowtide {

struct SowTraits {
  int parity = 0, total_born = 0, functional_teats = 0;
  SowEffects effects;
  double constipation_score = 0, late_gestation_feed_kg_per_day = 0;
  double weight_kg = 0, backfat_mm = 0;  // at loading, without the litter
  double gestation_length_d = 0;
  int due_day = 0;  // according to service records
  Time onset;       // of labour, equal to the first birth
  bool induced = false;
  bool nurse = false;  // brought in as a nurse sow, with her own litter weaned
  bool leg_trouble = false;
  bool knows_drinker = true, knows_feeder = true;
  double drinker_flow_l_per_min = 0;  // of her crate
  StartKind start_kind = {};
  double start_z = 0;
  double appetite_noise = 0;  // of the first day
  double unsteadiness = 1;    // of her daily noise in appetite
};

// Draws the sows of a group: traits given in the scenario are used as they are, the rest are drawn at random.
class SowGenerator {
 public:
  // Settings and biology must outlive it; sows enter their crates at `loading`.
  SowGenerator(const FarmSettings& settings, const Biology& biology, Draws draws, GroupInRoom group, Time loading);

  // The sow with this number on the farm.
  SowTraits operator()(int number) const;
  // A nurse sow from elsewhere on the farm, whose own litter is weaned at `now`.
  SowTraits nurse(int number, Time now) const;

 private:
  void draw_herd_traits(int number, SowTraits& sow) const;
  void draw_farrowing(int number, SowTraits& sow) const;
  void induce(int number, double due_d, SowTraits& sow) const;
  void draw_health_and_water(int number, SowTraits& sow) const;
  const DescribedSow& described(int number) const;
  double z(int number, Purpose purpose, std::uint32_t occasion = 0) const;

  const FarmSettings& settings_;
  const Biology& biology_;
  Draws draws_;
  GroupInRoom group_;
  Time loading_;
  HerdDistributions herd_;  // with the parity distribution of the scenario
};

}  // namespace farrowtide
