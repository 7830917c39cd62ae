// The state of one sow and her litter, read and changed by the processes of the room.
#pragma once

#include <algorithm>
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
#include "libsim/model/sow/energy_balance.hpp"
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
  Time scours_until, scours_until_if_treated;
  int moves = 0;
  MoveBurden move_burden;
  bool eats_creep_feed = false;
  double birth_weight_kg = 0;
  double weight_kg = 0;
  double teat_effect = 0;
  Time born;
  std::optional<double> birth_interval_min;        // since the previous birth
  std::optional<double> birth_interval_drawn_min;  // the same without meals, heat, inertia and assistance
  bool assisted = false, attended = false;
  bool born_on_duty = false;  // while somebody was on duty, not in a break
  PerCause thresholds{};      // unit-exponential, one per cause of death
  Life life = Life::unborn;
  PigletFate fate = PigletFate::stillborn;  // provisional until it dies of another cause or is weaned
  std::optional<DeathCause> cause;
  std::optional<double> age_at_death_d, age_at_weaning_d, weaning_weight_kg;
  bool savable = false;    // stillborn, but may be revived by somebody who comes in time
  bool cared_for = false;  // dried, warmed and brought to the udder
  double care_log_hazard = 0;
  double colostrum_before_g = 0;  // drunk from sows it no longer nurses
  double colostrum_g = 0;         // projected total intake, as things stand
  double rates_until_age_d = std::numeric_limits<double>::infinity();
  std::size_t slot = 0;  // index in the litter's hazards
  std::size_t teat = 0;  // index in the colostrum shares

  std::uint32_t entity() const;
  std::int32_t cause_code() const { return cause ? 1 + static_cast<std::int32_t>(*cause) : 0; }  // as in death_causes()
  bool born_to(const Sow& sow) const { return dam == &sow; }
};

// The piglets born to a sow and the piglets that nurse her.
struct Litter {
  std::vector<Piglet> piglets;     // born to her, in birth order; their addresses stay valid
  std::vector<Piglet*> sucklings;  // alive and nursing her, own or fostered, in order of arrival
  ColostrumShares colostrum;
  LitterHazards hazards;
  Time hazards_at;  // deaths have been applied up to this time
  double birth_frailty = 0, rear_frailty = 0, middle_frailty = 0, late_frailty = 0;
  double stillbirth_logit = 0, mean_birth_weight_kg = 0, birth_weight_spread_kg = 0, colostrum_z = 0;
  int born_alive = 0, stillborn = 0, died = 0, moved_in = 0, moved_out = 0;
  int dead_to_remove = 0;
  int orphans_coming = 0;                   // on their way to her from sows that died
  int orphans_moved = 0, orphans_lost = 0;  // of her own, if she died: moved to other sows, and without room there
  bool colostrum_is_over = false;
  TeatUse teats;
  double creep_feed_z = 0;
  bool has_scoured = false;
  int scoured = 0;         // number of piglets affected at the onset
  double unfed_share = 0;  // of what the piglets need to live, missing from yesterday's milk
  // The latest fostered-in piglets ("strangers"): when they came, how many, and the litter's mean weight at the
  // preceding midnight.
  std::optional<Time> strangers_at;
  int strangers = 0, day_of_strangers = 0;
  double mean_at_midnight_kg = 0, expected_kg = 0, stranger_mean_kg = 0, adoption_multiplier = 1;
  std::vector<const Sow*> sources;           // dams of fostered-in piglets, each listed once
  Time set_back_until;                       // reduced litter gain after late processing
  double processing_due = 0, processed = 0;  // shares of the processing due by today and done
  int processing_planned_to_day = 0;         // lactation day

  int nursing() const { return static_cast<int>(sucklings.size()); }
  int scouring() const;  // piglets with scours now
  double weight_kg() const;
  double mean_kg() const { return sucklings.empty() ? 0 : weight_kg() / nursing(); }
};

struct Labour {
  Time last_birth;
  int births = 0;
  int exams = 0;
  std::optional<Time> last_look;
  bool exam_asked = false;
  bool assisted = false;  // at least one birth was assisted
  int people_present = 0;
  InertiaState inertia{1};
  int inertia_spells = 0;
  double log_modifiers = 0;             // of the birth intervals of this labour
  double log_modifiers_at_loading = 0;  // the same from her condition at loading alone
  std::optional<double> hours_since_last_meal;
};

// Body reserves, milk demand and lysine: state carried from one daily balance to the next.
struct BodyState {
  double weight_kg = 0, backfat_mm = 0, protein_kg = 0;
  double protein_at_loading_kg = 0, weight_at_loading_kg = 0, protein_at_farrowing_kg = 0, weight_at_farrowing_kg = 0,
         backfat_at_farrowing_mm = 0;
  double smoothed_demand_mcal = 0, smoothed_intake_mcal = 0, smoothed_lysine_shortfall_g = 0;
  double heat_w = 0;  // heat production of sow and litter, mean of the previous day

  double protein_loss_share() const { return std::max(0.0, 1 - protein_kg / protein_at_loading_kg); }
  // What she has lost since loading, of her protein or of her weight, whichever is more.
  double loss_share() const { return std::max(protein_loss_share(), 1 - weight_kg / weight_at_loading_kg); }
  double weight_loss_kg() const { return weight_at_farrowing_kg - weight_kg; }
  double weight_loss_percent() const { return weight_loss_kg() / weight_at_farrowing_kg * 100; }
};

// Appetite threshold of her next meal; valid until she eats or her appetite changes.
struct PendingMeal {
  std::uint32_t number = std::numeric_limits<std::uint32_t>::max();
  double appetite_kg = 0, usual_threshold_kg = 0, threshold_kg = 0;
};

// Cumulative trough totals at the last midnight.
struct TroughTotals {
  std::int64_t offered_g = 0, undelivered_g = 0, eaten_g = 0, wasted_g = 0, removed_g = 0;
};

// The state of her trough when staff first came to it on a given day.
enum class TroughState { unknown, empty, in_between, untouched };
struct TroughReading {
  int day = -1;
  TroughState state = TroughState::unknown;  // unknown before farrowing, with nothing offered, and under full access
  double offered_kg = 0, left_kg = 0;        // offered since the previous reading, and left in the trough
  std::int64_t offered_before_g = 0;
};

// Mornings on which her trough was empty or untouched.
struct TroughMornings {
  int read = 0, empty = 0, untouched = 0;
  void count(TroughState state);
};

// Trough, meals and the appetite of the day.
struct FeedingState {
  FeedingState(const TroughRules& trough_rules, const AppetiteClock& first_clock, double first_noise)
      : trough(trough_rules), clock_of_day(first_clock), appetite_noise(first_noise) {}

  Trough trough;
  AppetiteClock clock_of_day;
  double appetite_kg = 0;  // of the day, distributed over it by clock_of_day
  double pool_kg = 0;      // appetite accumulated but not met, at pool_at
  Time pool_at;
  double appetite_noise;
  double effective_temperature_deg_c = 0;
  double heat_memory = 0;  // appetite lost to heat on past days, a fading mean
  std::optional<Time> last_meal;
  std::optional<Time> stood_up_at;  // made to stand up, the last time
  int times_stood_up = 0;
  std::uint32_t meals = 0;
  std::uint32_t meals_at_midnight = 0;
  PendingMeal pending_meal;
  TroughTotals at_midnight;
  std::optional<double> own_allowance_kg_per_day;  // as adjusted at trough checks
  int own_allowance_day = 0;                       // lactation day of the check at which it was adjusted
  TroughReading trough_reading;
  TroughMornings mornings, mornings_at_check;  // at the first visit of each day; those of them on which it was checked
  std::int64_t cleaning_asked_day = -1;        // day on which a cleaning of her trough was last requested
  bool refuses_stale_feed = false;             // hungry, but not enough for the feed in her trough
  double before_farrowing_kg_per_day = 0;      // eaten in the last days before farrowing
  int days_off_feed = 0;  // consecutive mornings on which she was seen to have eaten next to nothing

  // The share of the day's appetite that has accumulated by `moment`; the day begins at `midnight`.
  double share_by(Time midnight, Time moment) const;
};

struct Drinker {
  double flow_l_per_min = 0;  // when clean
  double open_share = 1;      // share of that flow that remains; below 1 while clogged
  bool looked_at = false;     // checked by staff since loading
  Time clogged_at;
  Signal mended;
};

// What a first-parity sow may have to learn in a new place.
struct Skill {
  bool known = true;
  std::optional<Time> learned_at;  // empty if she knew it at loading
};

// Her drinker, and whether she has learned to use it and her feeder.
struct WaterState {
  Drinker drinker;
  Time noted_at;                // the two sums below run from the last midnight to here
  double most_today_l = 0;      // that the drinker could have given her
  double milk_lost_d = 0;       // day's milk lost to thirst
  double early_l = 0;           // drunk on lactation days 1-3
  double drunk_standing_l = 0;  // today, when made to stand up
  bool low_drinker = false;
  Skill uses_drinker, uses_feeder;
  int times_taught = 0;
  std::int64_t drinker_asked_day = -1;  // day on which a check of her drinker was last requested
};

struct PlacentaState {
  double expelled_after_min = 0;
  bool retained = false;  // in part
};

// The post-partum disorder, its detection and its treatment.
struct HealthState {
  std::optional<PlacentaState> placenta;
  std::optional<Time> fell_ill, recovered;
  double severity = 0;
  std::bitset<5> signs;                            // seen so far, indexed by Sign
  std::optional<Time> first_sign, first_treated;   // including false positives
  std::optional<double> rectal_temperature_deg_c;  // latest reading
  std::optional<Time> treatment_asked;
  Signal treatment;
  bool seen_lame = false;  // rightly or wrongly
  bool legs_treated = false, legs_recovered = false;

  bool ill() const { return fell_ill && !recovered; }
};

// What staff saw of her eating and drinking when they first came to her trough on a day, before they fed her, and the
// totals of her trough at that time.
struct IntakeSighting {
  int day = -1;
  Time at;
  std::int64_t eaten_g = 0, offered_g = 0, in_trough_g = 0;
  double eaten_kg = 0, expected_kg = 0, drunk_l = 0, expected_l = 0;  // since the sighting before

  double left_kg() const { return static_cast<double>(in_trough_g) / 1000; }
};

struct HandlingState {
  double disturbance = 0;  // share of her appetite lost to handling of her litter
  Time calm_at;
};

// Expected performance in her next reproductive cycle; empty where she shows no oestrus.
struct NextCycle {
  std::optional<double> weaning_to_oestrus_d = {}, farrowing_rate = {}, total_born_change = {};
  double removal_risk = 0;
};

// How and when she left.
struct Departure {
  SowFate fate{};
  Time at;
  int weaned = 0;
  std::optional<double> litter_weight_kg = {};  // if the litter was weaned
  std::optional<NextCycle> next_cycle = {};
};

struct Sow {
  Sow(int number_on_the_farm, const SowTraits& brought, const TroughRules& trough_rules,
      const AppetiteClock& first_clock, double protein_kg);

  const int number;  // unique on the farm, from 1
  const SowTraits traits;

  FeedingState feeding;
  WaterState water;
  IntakeSighting intake_seen;
  HealthState health;
  HandlingState handling;
  Labour labour;
  Litter litter;
  BodyState body;
  std::vector<SowDay> days;  // completed days

  std::optional<int> day_0;  // calendar day of the last birth
  int weaning_day = 0;
  const LactationCurve* lactation_curve = nullptr;
  std::optional<Departure> departure;

  Signal feed_arrived;    // feed was delivered, the trough was cleaned, she stood up, or her appetite changed
  Signal helped;          // an exam succeeded
  Milestone trained;      // shown where to drink and eat
  Signal litter_changed;  // a birth, death, move or new weights: recalculate the hazards
  Signal weaned_early;    // her litter is to be weaned today
  Signal risk_changed;    // of her death: she has farrowed or left, or her water, reserves or the heat have changed
  Milestone farrowed;
  Milestone left;  // her litter was weaned, or she died

  Reserves reserves() const { return {.backfat_mm = body.backfat_mm, .parity = traits.parity}; }
  bool lame() const { return traits.leg_trouble && !health.legs_recovered; }
  std::uint32_t entity() const { return static_cast<std::uint32_t>(number); }
  std::uint32_t entity_of(int birth_rank) const { return piglet_entity(number, birth_rank); }
  bool in_labour(Time now) const { return now >= traits.onset && !farrowed.reached() && !left.reached(); }
  double farrowing_duration_min() const { return (labour.last_birth - traits.onset).minutes(); }  // up to now

  // Converts a calendar day to a lactation day; until the last birth it is counted from the day of onset.
  int lactation_day(std::int64_t calendar_day) const { return static_cast<int>(calendar_day) - reference_day(); }
  int reference_day() const { return day_0.value_or(static_cast<int>(traits.onset.day())); }
  // Frees the memory of state that has been written to rows.
  void forget() {
    days = {};
    litter.piglets = {};
    litter.sucklings = {};
  }
};

inline std::uint32_t Piglet::entity() const { return dam->entity_of(birth_rank); }

}  // namespace farrowtide
