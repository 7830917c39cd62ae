#include "libsim/model/farm_settings.hpp"

#include <algorithm>
#include <cmath>
#include <string>

namespace farrowtide {
namespace {

// Reads the policy of each family, selected by its key `kind`.
void read_policies(Section& section, const PolicyCatalogues& catalogues, FarmSettings& farm) {
  const auto policy = [&](const char* family, const char* default_kind, const char* help, const auto& catalogue,
                          const char* only_with = "") {
    Section own = section.section(family, help, only_with);
    return own.variants(
        {.name = "kind", .default_value = default_kind, .help = "The policy to use; it determines the other keys."},
        catalogue);
  };
  farm.loading =
      policy("loading", "gilts_together",
             "When sows are loaded, and whether first-parity sows are trained to drink and eat.", catalogues.loading);
  farm.feeding = policy("feeding", "hand", "When feed is delivered to the troughs, and how much.", catalogues.feeding);
  farm.water =
      policy("water", "every_drinker", "Which drinkers are checked, and when they are adjusted.", catalogues.water);
  farm.temperature =
      policy("temperature", "schedule",
             "Temperature set point of the room. Lower it only if the creep area stays warm; heat lamps are a fire and "
             "burn hazard.",
             catalogues.temperature, "climate.kind: balance");
  farm.attendance =
      policy("attendance", "rounds", "Farrowing rounds, farrowing assistance and newborn care.", catalogues.attendance);
  farm.care =
      policy("care", "by_signs", "Health checks after farrowing, and the response to their findings.", catalogues.care);
  farm.fostering = policy("fostering", "none", "Moving piglets between sows.", catalogues.fostering);
  farm.handling = policy("handling", "bundled", "When litters are processed.", catalogues.handling);
}

// A record of outdoor hours must last at least until the last group is weaned.
void check_weather(Section& section, const FarmSettings& farm) {
  const ClimateSettings& climate = farm.climate;
  const bool complete = climate.hourly_deg_c.size() == climate.hourly_humidity_percent.size();
  if (climate.kind == ClimateKind::imposed || climate.hourly_deg_c.empty() || !complete) return;
  const int groups = farm.schedule.groups_in_all(farm.last_day());
  const int needed_h = ((groups - 1) * farm.schedule.group_every_days + farm.weaning_day() + 1) * 24;
  const int given_h = static_cast<int>(climate.hourly_deg_c.size());
  if (given_h >= needed_h) return;
  section.refuse("climate", "has outdoor_hours for " + std::to_string(given_h) + " hours",
                 "at least " + std::to_string(needed_h) + ", from loading to weaning");
}

// Checks that involve more than one section.
void check_farm(Section& section, const FarmSettings& farm) {
  if (static_cast<int>(farm.herd.sows.size()) > farm.equipment.crates) {
    section.refuse("herd",
                   "describes " + std::to_string(farm.herd.sows.size()) + " sows for " +
                       std::to_string(farm.equipment.crates) + " crates",
                   "at most one sow per crate");
  }
  for (const PrescribedMove& move : farm.moves) {
    if (std::max(move.from, move.to) > farm.sows())
      section.refuse("moves", "names a sow that does not exist", "sows 1 to " + std::to_string(farm.sows()));
  }
  const int in_turn =
      farm.schedule.groups_in_all(farm.last_day()) == 1 ? 1 : farm.last_day() / farm.schedule.group_every_days + 1;
  const int rooms_in_use = farm.schedule.rooms_per_group * in_turn;
  if (farm.schedule.rooms < rooms_in_use && !section.describing()) {
    section.refuse("farm",
                   "has " + std::to_string(farm.schedule.rooms) + " rooms, but each group occupies " +
                       std::to_string(farm.schedule.rooms_per_group) + " for " + std::to_string(farm.last_day() + 1) +
                       " days, including washing and drying",
                   "at least " + std::to_string(rooms_in_use) + " rooms for a group every " +
                       std::to_string(farm.schedule.group_every_days) + " days");
  }
  check_weather(section, farm);
  const auto has_day = [](const DescribedSow& sow) { return sow.farrows_on_day.has_value(); };
  if (farm.induction.schedule && (has_day(farm.herd.every_sow) || std::ranges::any_of(farm.herd.sows, has_day))) {
    section.refuse("induction", "cannot be combined with farrows_on_day, which fixes the day whatever the gestation",
                   "one of the two");
  }
  if (farm.attendance->night_people() > 0 && Roster(farm.staff.shifts).goes_through_the_night()) {
    section.refuse("attendance", "adds night staff, but a shift already runs overnight",
                   "night_people: 0, or shifts that end before midnight");
  }
}

}  // namespace

FarmSettings FarmSettings::read(Section& section, const PolicyCatalogues& catalogues) {
  FarmSettings farm;
  farm.start =
      section.date({.name = "start", .default_value = "2026-01-12", .help = "Date of day 0, the day of loading."});
  farm.equipment = section.read<EquipmentSettings>("room", "The room and its equipment.");
  farm.climate = section.read<ClimateSettings>("climate", "Source of the room climate.");
  farm.group = section.read<GroupSettings>("group", "The farrowing group.");
  farm.herd = section.read<HerdSettings>("herd", "The sows.");
  farm.diet = section.read<DietSettings>("diet", "The lactation diet.");
  farm.induction = section.read<InductionSettings>("induction", "Induction of farrowing, off by default.");
  farm.imposed = section.read<ImposedSettings>(
      "imposed",
      "Measured intake and litter gain, imposed on every sow to replay a trial; not for a farm's own question.");
  farm.moves = section.read_list<PrescribedMove>("moves",
                                                 "Piglets moved between sows at given times. Moves spread disease and "
                                                 "reduce growth; nurse sows and early weaning are subject to local "
                                                 "law and the herd veterinarian's decision.");
  farm.schedule = section.read<BatchSchedule>("farm", "The rooms and groups; by default, one of each.");
  farm.staff = section.read<StaffSettings>("staff", "The staff, shared between all rooms.");
  farm.warmest_day_of_year = OutdoorClimate::preset(section.coefficients(), farm.climate.outdoor_preset).warmest_day;
  farm.wash_and_dry_days = static_cast<int>(section.coefficients().number("sow.herd.wash_and_dry", "d"));
  read_policies(section, catalogues, farm);
  check_farm(section, farm);
  return farm;
}

int FarmSettings::sows() const { return herd.sows.empty() ? equipment.crates : static_cast<int>(herd.sows.size()); }

int FarmSettings::day_of_year(int day) const {
  const auto date = std::chrono::sys_days(start) + std::chrono::days(day);
  const auto new_year = std::chrono::sys_days(std::chrono::year_month_day(date).year() / 1 / 1);
  return static_cast<int>((date - new_year).count()) + 1;
}

Season FarmSettings::season(int day) const {
  constexpr double days_a_year = 365.25, half_a_quarter = days_a_year / 8;
  const double since_warmest_d = std::remainder(day_of_year(day) - warmest_day_of_year, days_a_year);
  return std::abs(since_warmest_d) <= half_a_quarter ? Season::summer : Season::other;
}

CountedTime FarmSettings::counted() const {
  const Time from = Time{} + schedule.lead_in_groups(last_day()) * schedule.group_every_days * 1_d;
  if (schedule.groups == 1) return {from, Time{} + (last_day_of_farm() + 1) * 1_d};
  return {from, from + schedule.groups * schedule.group_every_days * 1_d};
}

double FarmSettings::crate_turn_days() const {
  if (schedule.groups == 1) return weaning_day() + wash_and_dry_days;
  return static_cast<double>(schedule.group_every_days) * schedule.rooms / schedule.rooms_per_group;
}

int FarmSettings::last_day_of_farm() const {
  return (schedule.groups_in_all(last_day()) - 1) * schedule.group_every_days + last_day();
}

int FarmSettings::last_day() const {
  if (group.weaning != WeaningRule::each_sow) return weaning_day() + wash_and_dry_days;
  int slack_d = 7;                                       // allows for the latest farrowings of a group
  const auto allow_for = [&](const DescribedSow& sow) {  // a labour may end after midnight
    if (sow.farrows_on_day) slack_d = std::max(slack_d, *sow.farrows_on_day + 1 - loading->days_before_due());
  };
  allow_for(herd.every_sow);
  std::ranges::for_each(herd.sows, allow_for);
  return weaning_day() + slack_d + wash_and_dry_days;
}

}  // namespace farrowtide
