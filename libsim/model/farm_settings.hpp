// What a scenario says about one room and its group: every struct reads itself.
#pragma once

#include <array>
#include <chrono>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "libsim/model/litter/farrowing.hpp"
#include "libsim/model/litter/gestation.hpp"
#include "libsim/model/litter/scours.hpp"
#include "libsim/model/room/heat_balance.hpp"
#include "libsim/model/room/outdoor.hpp"
#include "libsim/model/sow/diet.hpp"
#include "libsim/model/sow/effective_temperature.hpp"
#include "libsim/model/sow/herd.hpp"
#include "libsim/model/sow/signs.hpp"
#include "libsim/model/sow/sow_loss.hpp"
#include "libsim/model/staff/roster.hpp"
#include "libsim/policy/catalogues.hpp"
#include "libsim/scenario/section.hpp"

namespace farrowtide {

// The part of a farm's time that counts.
struct CountedTime {
  Time from, until;
  bool holds(Time moment) const { return from <= moment && moment < until; }
};

// A sow that the scenario describes by herself; what is left out is drawn.
struct DescribedSow {
  std::optional<int> parity, total_born, functional_teats, farrows_on_day;
  std::optional<double> weight_after_farrowing_kg, backfat_mm;

  static DescribedSow read(Section& section);
};

enum class Mortality { on, off };
enum class Health { on, off };

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

enum class WeaningRule { group_together, each_sow };

struct GroupSettings {
  int lactation_days = 0;
  WeaningRule weaning = WeaningRule::group_together;

  static GroupSettings read(Section& section);
};

enum class Blockages { on, off };

struct EquipmentSettings {
  int crates = 0;
  FarrowingPlace farrowing_place = FarrowingPlace::crate;
  bool deep_pit = false;
  CoolingPad pad = CoolingPad::none;
  double trough_capacity_kg = 0;
  double light_from_h = 0, light_until_h = 0;
  SowCooling sow_cooling = SowCooling::none;
  double drinker_flow_l_per_min = 0, drinker_flow_cv = 0;
  Blockages drinker_blockages = Blockages::on;

  static EquipmentSettings read(Section& section);
};

// Where a room's climate comes from.
enum class ClimateKind {
  balance,  // the room's own heat balance against the weather outdoors
  imposed,  // a chamber that holds what it is told
};

struct ClimateSettings {
  ClimateKind kind = ClimateKind::balance;
  std::string outdoor_preset;
  std::optional<OutdoorDay> constant_outdoor;
  std::vector<double> hourly_deg_c, hourly_humidity_percent;  // an hourly record of the outdoor air
  OutdoorDay imposed{};

  static ClimateSettings read(Section& section);
};

// The rooms of the farm and the groups that pass through them. What counts is the time after the rooms have filled and
// before they empty.
struct BatchSchedule {
  int rooms = 1;
  int rooms_per_group = 1;
  int groups = 1;  // that count
  int group_every_days = 7;
  std::optional<int> warm_up_groups;

  // Groups that fill the rooms before those that count, and keep them filled until the last of these has left.
  int lead_in_groups(int last_day_of_room) const;
  int lead_out_groups(int last_day_of_room) const;
  int groups_in_all(int last_day_of_room) const;
  static BatchSchedule read(Section& section);
};

struct StaffSettings {
  std::vector<Shift> shifts;

  static StaffSettings read(Section& section);
};

// Induction with the veterinarian's prescription; off unless a scenario asks.
struct InductionSettings {
  std::optional<InductionSchedule> schedule;
  double gestation_day = 0;

  static InductionSettings read(Section& section);
};

// Piglets moved from one sow to another at a given time, as a trial would do it.
struct PrescribedMove {
  enum class Which { lightest, middle, heaviest };
  int day = 0;  // of the scenario
  Duration time;
  int from = 0, to = 0, piglets = 0;
  Which which = Which::middle;

  static PrescribedMove read(Section& section);
};

struct FarmSettings {
  std::chrono::year_month_day start;
  EquipmentSettings equipment;
  ClimateSettings climate;
  GroupSettings group;
  HerdSettings herd;
  Diet diet;
  FibreInDiet fibre = FibreInDiet::usual;
  InductionSettings induction;
  std::vector<PrescribedMove> moves;
  BatchSchedule farm;
  StaffSettings staff;
  std::shared_ptr<const LoadingPolicy> loading;
  std::shared_ptr<const FeedingPolicy> feeding;
  std::shared_ptr<const WaterPolicy> water;
  std::shared_ptr<const TemperaturePolicy> temperature;
  std::shared_ptr<const AttendancePolicy> attendance;
  std::shared_ptr<const CarePolicy> care;
  std::shared_ptr<const FosteringPolicy> fostering;
  std::shared_ptr<const HandlingPolicy> handling;
  int wash_and_dry_days = 0;
  double warmest_day_of_year = 0;

  // Keys of the top level that describe the farm; the caller reads the rest. The catalogues say which policies there
  // are.
  static FarmSettings read(Section& section, const PolicyCatalogues& catalogues);
  static FarmSettings read(Section& section) { return read(section, PolicyCatalogues::built_in()); }

  int sows() const;                // in a room
  int day_of_year(int day) const;  // 1 is the first of January
  // Summer is the quarter of the year around the warmest day of its climate.
  Season season(int day) const;
  // Days of a group, counted from its loading: weaning, and the end of which the room has been washed and is dry.
  int weaning_day() const { return loading->days_before_due() + group.lactation_days; }
  int last_day() const;
  int last_day_of_farm() const;  // of its last group
  CountedTime counted() const;
};

}  // namespace farrowtide
