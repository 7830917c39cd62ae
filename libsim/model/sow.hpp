// The state of one sow and of her litter: what the processes of a room read and change.
#pragma once

#include <bitset>
#include <cstdint>
#include <limits>
#include <optional>
#include <vector>

#include "libsim/kernel/signal.hpp"
#include "libsim/kernel/time.hpp"
#include "libsim/model/litter/colostrum.hpp"
#include "libsim/model/litter/farrowing.hpp"
#include "libsim/model/litter/moving.hpp"
#include "libsim/model/litter/survival.hpp"
#include "libsim/model/litter/teats.hpp"
#include "libsim/model/purpose.hpp"
#include "libsim/model/sow/appetite_clock.hpp"
#include "libsim/model/sow/milk.hpp"
#include "libsim/model/sow/trough.hpp"
#include "libsim/model/sow_days.hpp"
#include "libsim/model/sow_traits.hpp"
#include "libsim/record/kinds.hpp"

namespace farrowtide {

enum class Life { unborn, alive, dead };

struct Sow;

struct Piglet {
  const Sow* dam = nullptr;
  Sow* reared_by = nullptr;
  int birth_rank = 0;
  Sex sex = Sex::female;
  bool splay_legged = false;
  bool scouring = false, has_scoured = false;
  int days_scoured = 0;
  Time scours_until;
  int moves = 0;
  MoveBurden move_burden;
  bool eats_creep_feed = false;
  double birth_weight_kg = 0;
  double weight_kg = 0;
  double teat_effect = 0;
  Time born;
  std::optional<double> birth_interval_min;        // since the birth before
  std::optional<double> birth_interval_drawn_min;  // the same with meals, heat, inertia and help left out
  bool assisted = false, attended = false;
  PerCause thresholds{};  // unit-exponential, against its hazards
  Life life = Life::unborn;
  PigletFate fate = PigletFate::stillborn;  // until it has died of something else or is weaned
  std::optional<DeathCause> cause;
  std::optional<double> age_at_death_d, weaning_weight_kg;
  bool savable = false;    // born dead, and somebody who comes in time may revive it
  bool cared_for = false;  // dried, warmed and brought to the udder
  double care_log_hazard = 0;
  double colostrum_before_g = 0;  // drunk from sows it no longer nurses
  double colostrum_g = 0;         // it will have drunk, as things are now
  double rates_until_age_d = std::numeric_limits<double>::infinity();
  std::size_t slot = 0;  // its place in the litter's hazards
  std::size_t teat = 0;  // its place in the colostrum shares

  std::uint32_t entity() const;
  std::int32_t cause_code() const { return cause ? 1 + static_cast<std::int32_t>(*cause) : 0; }  // as death_causes()
  bool born_to(const Sow& sow) const { return dam == &sow; }
};

// What is born of a sow and what nurses her.
struct Litter {
  std::vector<Piglet> piglets;     // born of her, in birth order; they keep their place in memory
  std::vector<Piglet*> sucklings;  // alive and nursing her, whoever bore them, in the order they came
  ColostrumShares colostrum;
  LitterHazards hazards;
  Time hazards_at;  // up to here deaths have been dealt with
  double birth_frailty = 0, rear_frailty = 0, middle_frailty = 0, late_frailty = 0;
  double stillbirth_logit = 0, mean_birth_weight_kg = 0, colostrum_z = 0;
  int born_alive = 0, stillborn = 0, died = 0, moved_in = 0, moved_out = 0;
  int dead_to_remove = 0;
  bool colostrum_is_over = false;
  TeatUse teats;
  double creep_feed_z = 0;
  bool has_scoured = false;
  int scoured = 0;  // piglets that did when it broke out
  // What strangers brought: when the last came, how many with them, and what her piglets weighed at the midnight
  // before.
  std::optional<Time> strangers_at;
  int strangers = 0, day_of_strangers = 0;
  double mean_at_midnight_kg = 0, expected_kg = 0, stranger_mean_kg = 0, adoption_multiplier = 1;
  std::vector<const Sow*> sources;           // dams whose piglets came, each once
  Time set_back_until;                       // grows less after late processing
  double processing_due = 0, processed = 0;  // parts of the processing, planned by today and done
  int processing_planned_to_day = 0;         // of lactation

  int nursing() const { return static_cast<int>(sucklings.size()); }
  int scouring() const;  // now
  double weight_kg() const;
  double mean_kg() const { return sucklings.empty() ? 0 : weight_kg() / nursing(); }
};

struct Labour {
  Time last_birth;
  int births = 0;
  int exams = 0;
  std::optional<Time> last_look;
  bool exam_asked = false;
  bool assisted = false;  // any of her piglets
  int people_present = 0;
  InertiaState inertia{1};
  int inertia_spells = 0;
  double log_modifiers = 0;             // of this labour
  double log_modifiers_at_loading = 0;  // of what she brought with her alone
  std::optional<double> hours_since_last_meal;
};

// Body, milk and lysine: what the daily balance carries on.
struct BodyState {
  double weight_kg = 0, backfat_mm = 0, protein_kg = 0;
  double protein_at_farrowing_kg = 0, weight_at_farrowing_kg = 0, backfat_at_farrowing_mm = 0;
  double smoothed_demand_mcal = 0, smoothed_lysine_shortfall_g = 0;
  double heat_w = 0;  // of sow and litter, mean of the last day

  double weight_loss_kg() const { return weight_at_farrowing_kg - weight_kg; }
  double weight_loss_percent() const { return weight_loss_kg() / weight_at_farrowing_kg * 100; }
};

// When she starts her next meal; it holds until she eats or her appetite changes.
struct PendingMeal {
  std::uint32_t number = std::numeric_limits<std::uint32_t>::max();
  double appetite_kg = 0, threshold_kg = 0;
};

// What the trough had taken and given at the last midnight.
struct TroughTotals {
  std::int64_t offered_g = 0, eaten_g = 0, wasted_g = 0, removed_g = 0;
};

// What lay in her trough when somebody first came to it on a day.
struct TroughReading {
  int day = -1;
  double offered_kg = 0, left_kg = 0;  // since the reading before, and of it
  std::int64_t offered_before_g = 0;
};

// Trough, meals and the appetite of the day.
struct FeedingState {
  FeedingState(const TroughRules& trough_rules, const AppetiteClock& first_clock, double first_noise)
      : trough(trough_rules), clock_of_day(first_clock), appetite_noise(first_noise) {}

  Trough trough;
  AppetiteClock clock_of_day;
  double appetite_kg = 0;  // of the day, arriving along its clock
  double pool_kg = 0;      // appetite that came and was not met, at pool_at
  Time pool_at;
  double appetite_noise;
  double effective_temperature_deg_c = 0;
  std::optional<Time> last_meal;
  std::uint32_t meals = 0;
  std::uint32_t meals_at_midnight = 0;
  PendingMeal pending_meal;
  TroughTotals at_midnight;
  std::optional<double> own_allowance_kg_per_day;  // as adjusted from her trough
  TroughReading trough_reading;
  int days_off_feed = 0;  // mornings in a row on which her trough was untouched

  // Appetite that has come and was not met by now; `now` on the day of the present clock.
  double pool_now_kg(Time now) const;
};

struct Drinker {
  double flow_l_per_min = 0;  // when it is clean
  double open_share = 1;      // of that flow, while it is clogged
  bool looked_at = false;     // by staff, since loading
  Time clogged_at;
  Signal mended;
};

// Her drinker, and whether she can use it.
struct WaterState {
  Drinker drinker;
  double early_l = 0;  // drunk on days 1-3
  bool low_drinker = false;
  bool knows_the_place = true;  // can use drinker and feeder
  std::optional<Time> learned_at;
  int times_taught = 0;
  std::int64_t drinker_asked_day = -1;  // on which a check of her drinker was last asked for
};

struct PlacentaState {
  double expelled_after_min = 0;
  bool retained = false;  // a part of it
};

// The post-partum disorder, and what people found and did about it.
struct HealthState {
  std::optional<PlacentaState> placenta;
  std::optional<Time> fell_ill, recovered;
  double severity = 0;
  std::bitset<5> signs;                            // seen so far, by Sign
  std::optional<Time> first_sign, first_treated;   // right or wrong
  std::optional<double> rectal_temperature_deg_c;  // as last read
  std::optional<Time> treatment_asked;
  Signal treatment;

  bool ill() const { return fell_ill && !recovered; }
};

struct HandlingState {
  double disturbance = 0;  // part of her appetite lost to handling of her litter
  Time calm_at;
};

// What is to be expected of her next cycle.
struct NextCycle {
  double weaning_to_oestrus_d = 0, farrowing_rate = 0, total_born_change = 0, removal_risk = 0;
};

// How and when she left.
struct Departure {
  SowFate fate{};
  Time at;
  int weaned = 0;
  std::optional<double> litter_weight_kg = {};  // of a litter that was weaned
  std::optional<NextCycle> next_cycle = {};
};

struct Sow {
  Sow(int number_on_the_farm, const SowTraits& brought, const TroughRules& trough_rules,
      const AppetiteClock& first_clock, double protein_kg);

  const int number;  // on the farm, from 1
  const SowTraits traits;

  FeedingState feeding;
  WaterState water;
  HealthState health;
  HandlingState handling;
  Labour labour;
  Litter litter;
  BodyState body;
  std::vector<SowDay> days;  // that are over

  std::optional<int> day_0;  // calendar day of the last birth
  int weaning_day = 0;
  const LactationCurve* lactation_curve = nullptr;
  std::optional<Departure> departure;

  Signal feed_arrived;    // something edible came, the trough was cleaned, or her appetite changed
  Signal helped;          // an exam succeeded
  Milestone trained;      // shown where to drink and eat
  Signal litter_changed;  // a birth, or new weights: look again at the hazards
  Signal weaned_early;    // her litter is to be weaned today
  Signal stage_changed;   // she has farrowed, or left
  Milestone farrowed;
  Milestone left;  // weaned or dead

  std::uint32_t entity() const { return static_cast<std::uint32_t>(number); }
  std::uint32_t entity_of(int birth_rank) const { return piglet_entity(number, birth_rank); }
  bool in_labour(Time now) const { return now >= traits.onset && !farrowed.reached(); }
  double farrowing_duration_min() const { return (labour.last_birth - traits.onset).minutes(); }  // up to now

  // Lactation day of a calendar day; until the last birth counted from the day of onset.
  int lactation_day(std::int64_t calendar_day) const { return static_cast<int>(calendar_day) - reference_day(); }
  int reference_day() const { return day_0.value_or(static_cast<int>(traits.onset.day())); }
  // Gives back the memory of what has been written into rows.
  void forget() {
    days = {};
    litter.piglets = {};
    litter.sucklings = {};
  }
};

inline std::uint32_t Piglet::entity() const { return dam->entity_of(birth_rank); }

}  // namespace farrowtide
