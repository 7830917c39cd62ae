// The farm as a scenario describes it: its sections (libsim/model/settings), its policies, and derived values.
#pragma once

#include <chrono>
#include <memory>
#include <vector>

#include "libsim/model/settings/batch_schedule.hpp"
#include "libsim/model/settings/climate.hpp"
#include "libsim/model/settings/diet.hpp"
#include "libsim/model/settings/equipment.hpp"
#include "libsim/model/settings/group.hpp"
#include "libsim/model/settings/herd.hpp"
#include "libsim/model/settings/imposed.hpp"
#include "libsim/model/settings/induction.hpp"
#include "libsim/model/settings/prescribed_move.hpp"
#include "libsim/model/settings/staff.hpp"
#include "libsim/model/sow/sow_loss.hpp"
#include "libsim/policy/catalogues.hpp"
#include "libsim/scenario/section.hpp"

namespace farrowtide {

// The period included in the results, without warm-up and run-out.
struct CountedTime {
  Time from, until;
  bool holds(Time moment) const { return from <= moment && moment < until; }
};

struct FarmSettings {
  std::chrono::year_month_day start;
  EquipmentSettings equipment;  // the same in every room
  ClimateSettings climate;
  GroupSettings group;
  HerdSettings herd;
  DietSettings diet;
  InductionSettings induction;
  ImposedSettings imposed;
  std::vector<PrescribedMove> moves;
  BatchSchedule schedule;
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

  // Reads the top-level keys that describe the farm; the caller reads the rest. The catalogues list the available
  // policies.
  static FarmSettings read(Section& section, const PolicyCatalogues& catalogues);
  static FarmSettings read(Section& section) { return read(section, PolicyCatalogues::built_in()); }

  int sows() const;                // per room
  int day_of_year(int day) const;  // 1 is 1 January
  // Summer is the quarter of the year centred on the warmest day of the outdoor climate.
  Season season(int day) const;
  // Days of a group, counted from loading: weaning, and the last day, by the end of which the room is washed and dry.
  int weaning_day() const { return loading->days_before_due() + group.lactation_days; }
  int last_day() const;
  int last_day_of_farm() const;  // of its last group
  // Days between two loadings of a room: of a farm of several groups, by its timetable; of a single group, as if the
  // next one were loaded as soon as the room is washed and dry after its planned weaning.
  double crate_turn_days() const;
  CountedTime counted() const;
};

}  // namespace farrowtide
