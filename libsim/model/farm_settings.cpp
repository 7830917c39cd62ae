#include "libsim/model/farm_settings.hpp"

#include <algorithm>
#include <cmath>

namespace farrowtide {
namespace {

// Bounds of what a scenario may ask for: the ranges the equations support.
constexpr int least_lactation_d = 17, most_lactation_d = 35;

std::bitset<7> weekdays_from(const std::vector<std::string>& names) {
  static constexpr std::array<std::string_view, 7> order = {"mon", "tue", "wed", "thu", "fri", "sat", "sun"};
  std::bitset<7> days;
  for (std::size_t i = 0; i < order.size(); ++i) days[i] = std::ranges::find(names, order[i]) != names.end();
  return days;
}

Shift read_shift(Section& section) {
  const std::vector<std::string> week = {"mon", "tue", "wed", "thu", "fri", "sat", "sun"};
  Shift shift;
  shift.weekdays = weekdays_from(section.strings(
      {.name = "days", .options = week, .min_items = 1, .default_value = week, .help = "Days of the week."}));
  shift.from = section.time_of_day({.name = "from", .default_value = "07:00", .help = "Begin of work."});
  shift.until = section.time_of_day(
      {.name = "until", .default_value = "16:00", .help = "End of work; work in hand is finished."});
  shift.people =
      section.integer({.name = "people", .low = 1, .high = 50, .default_value = 2, .help = "People at work."});
  shift.break_length = section.duration({.name = "break",
                                         .unit = "min",
                                         .low = 0,
                                         .high = 180,
                                         .help = "Break of everyone at once.",
                                         .coefficient = "staff.roster.break_length"});
  shift.absence = section.number({.name = "absence",
                                  .low = 0,
                                  .high = 0.5,
                                  .default_value = 0,
                                  .help = "Share of days on which a person of the shift is missing."});
  shift.break_from = section.optional_time_of_day(
      {.name = "break_from", .help = "Begin of the break; the middle of the shift if left out."});
  return shift;
}

}  // namespace

DescribedSow DescribedSow::read(Section& section) {
  DescribedSow sow;
  sow.parity = section.optional_integer({.name = "parity", .low = 1, .high = 12, .help = "Number of this farrowing."});
  sow.total_born =
      section.optional_integer({.name = "total_born", .low = 1, .high = 30, .help = "Piglets born alive and dead."});
  sow.functional_teats =
      section.optional_integer({.name = "functional_teats", .low = 4, .high = 22, .help = "Teats that give milk."});
  sow.farrows_on_day =
      section.optional_integer({.name = "farrows_on_day",
                                .low = 1,
                                .high = 14,
                                .help = "Day of the scenario on which she farrows; day 0 is loading."});
  sow.weight_after_farrowing_kg = section.optional_number(
      {.name = "weight", .unit = "kg", .low = 130, .high = 360, .help = "Body weight without the litter."});
  sow.backfat_mm = section.optional_number(
      {.name = "backfat", .unit = "mm", .low = 5, .high = 40, .help = "P2 backfat at loading."});
  return sow;
}

HerdSettings HerdSettings::read(Section& section) {
  HerdSettings herd;
  herd.parity_shares = section.numbers({.name = "parity_shares",
                                        .low = 0,
                                        .high = 1,
                                        .min_items = 1,
                                        .max_items = 12,
                                        .help = "Share of parity 1, 2, ... among the sows loaded; scaled to sum to 1.",
                                        .coefficient = "sow.herd.parity_share"});
  herd.every_sow = section.read<DescribedSow>("every_sow", "What is the same in all sows, as a trial would fix it.");
  herd.sows = section.read_list<DescribedSow>("sows", "Sows described one by one; what is left out is drawn.");
  herd.intake_level = section.number({.name = "intake_level",
                                      .low = 0.5,
                                      .high = 1.5,
                                      .help = "Level of the herd's appetite against the curve.",
                                      .coefficient = "sow.appetite.curve.herd_factor"});
  herd.milk_level = section.number({.name = "milk_level",
                                    .low = 0.5,
                                    .high = 1.5,
                                    .help = "Level of the herd's milk yield.",
                                    .coefficient = "sow.milk.potential.herd_factor"});
  herd.mortality = section.choice(
      {.name = "mortality",
       .default_value = "on",
       .help = "off: no stillbirth and no deaths, as in a trial that keeps its litters at a fixed size."},
      std::vector<std::pair<std::string, Mortality>>{{"on", Mortality::on}, {"off", Mortality::off}});
  herd.mortality_level_log = section.number({.name = "mortality_level",
                                             .unit = "log",
                                             .low = -2,
                                             .high = 2,
                                             .default_value = 0,
                                             .help = "Log hazard of piglet deaths against the usual herd."});
  herd.health = section.choice(
      {.name = "health",
       .default_value = "on",
       .help =
           "off: no post-partum disorder (dysgalactia syndrome), leg trouble, scours or loss of sows, as in a trial "
           "among healthy animals."},
      std::vector<std::pair<std::string, Health>>{{"on", Health::on}, {"off", Health::off}});
  herd.health_level_logit =
      section.number({.name = "health_level",
                      .unit = "logit",
                      .low = -3,
                      .high = 3,
                      .help = "Log-odds of the post-partum disorder against the usual herd; higher is worse.",
                      .coefficient = "sow.sow_effects.health_herd_level"});
  herd.scours = section.choice({.name = "scours",
                                .default_value = "usual",
                                .help = "How common piglet scours is; problem: a herd with an outbreak."},
                               std::vector<std::pair<std::string, ScoursLevel>>{{"usual", ScoursLevel::usual},
                                                                                {"problem", ScoursLevel::problem}});
  herd.new_feeder = section.boolean({.name = "new_feeder",
                                     .default_value = false,
                                     .help = "The feeder is of a kind that first-parity sows have not eaten from "
                                             "before."});
  herd.runts = section.boolean({.name = "runts",
                                .default_value = false,
                                .help = "Adds growth-retarded piglets to the usual spread of birth weights."});
  herd.late_gestation_feed_kg_per_day = section.number({.name = "late_gestation_feed",
                                                        .unit = "kg/d",
                                                        .low = 1,
                                                        .high = 6,
                                                        .default_value = 3,
                                                        .help = "Feed a day in the last week before loading."});
  return herd;
}

GroupSettings GroupSettings::read(Section& section) {
  GroupSettings group;
  group.lactation_days =
      section.integer({.name = "lactation_days",
                       .low = least_lactation_d,
                       .high = most_lactation_d,
                       .help = "Days from the mean due date to weaning. Local law sets the least age at weaning.",
                       .coefficient = "sow.herd.lactation_length"});
  group.weaning =
      section.choice({.name = "weaning",
                      .default_value = "group_together",
                      .help = "Whether the group is weaned on one day, or each sow after her own lactation."},
                     std::vector<std::pair<std::string, WeaningRule>>{{"group_together", WeaningRule::group_together},
                                                                      {"each_sow", WeaningRule::each_sow}});
  return group;
}

EquipmentSettings EquipmentSettings::read(Section& section) {
  EquipmentSettings equipment;
  equipment.crates = section.integer(
      {.name = "crates", .low = 1, .high = 500, .default_value = 24, .help = "Farrowing crates in the room."});
  equipment.deep_pit = section.boolean(
      {.name = "deep_pit", .default_value = false, .help = "A deep pit below the slats: set points are higher."});
  equipment.farrowing_place = section.choice(
      {.name = "farrowing_place",
       .default_value = "crate",
       .help =
           "Where sows farrow: a crate, or a pen (or a crate left open), where labour is shorter and crushing more."},
      std::vector<std::pair<std::string, FarrowingPlace>>{{"crate", FarrowingPlace::crate},
                                                          {"pen", FarrowingPlace::pen}});
  equipment.pad = section.choice(
      {.name = "inlet", .default_value = "plain", .help = "Air inlet: plain, or through an evaporative pad."},
      std::vector<std::pair<std::string, CoolingPad>>{{"plain", CoolingPad::none},
                                                      {"evaporative_pad", CoolingPad::evaporative}});
  equipment.sow_cooling = section.choice(
      {.name = "sow_cooling", .default_value = "none", .help = "What cools the sow herself when it is warm."},
      std::vector<std::pair<std::string, SowCooling>>{{"none", SowCooling::none},
                                                      {"floor_pad", SowCooling::floor_pad},
                                                      {"snout_air", SowCooling::snout_air},
                                                      {"drip", SowCooling::drip},
                                                      {"chilled_water", SowCooling::chilled_water}});
  equipment.drinker_flow_l_per_min = section.number({.name = "drinker_flow",
                                                     .unit = "L/min",
                                                     .low = 0.05,
                                                     .high = 10,
                                                     .help = "Mean flow of the drinkers when pressed.",
                                                     .coefficient = "room.drinkers.flow_mean"});
  equipment.drinker_flow_cv = section.number({.name = "drinker_flow_cv",
                                              .low = 0,
                                              .high = 1,
                                              .help = "Spread of the flow from crate to crate, over its mean.",
                                              .coefficient = "room.drinkers.flow_cv"});
  equipment.drinker_blockages =
      section.choice({.name = "drinker_blockages", .default_value = "on", .help = "off: drinkers never clog."},
                     std::vector<std::pair<std::string, Blockages>>{{"on", Blockages::on}, {"off", Blockages::off}});
  equipment.trough_capacity_kg = section.number({.name = "trough_capacity",
                                                 .unit = "kg",
                                                 .low = 1,
                                                 .high = 12,
                                                 .help = "Feed a trough holds when it is filled by hand.",
                                                 .coefficient = "sow.trough.capacity"});
  equipment.light_from_h = section.integer({.name = "light_from",
                                            .low = 0,
                                            .high = 23,
                                            .help = "Clock hour at which the light goes on.",
                                            .coefficient = "sow.meals.clock.light_from"});
  equipment.light_until_h = section.integer({.name = "light_until",
                                             .low = 1,
                                             .high = 24,
                                             .help = "Clock hour at which the light goes off.",
                                             .coefficient = "sow.meals.clock.light_until"});
  if (equipment.light_until_h <= equipment.light_from_h) section.refuse("light_until", "must come after light_from");
  return equipment;
}

ClimateSettings ClimateSettings::read(Section& section) {
  ClimateSettings climate;
  const std::vector<std::string> presets = section.coefficients().axis_labels("climate.presets.mean");
  climate.kind = section.choice({.name = "kind",
                                 .default_value = "balance",
                                 .help = "balance: the room's own heat balance against the outdoor air; imposed: a "
                                         "chamber that holds what it is told."},
                                std::vector<std::pair<std::string, ClimateKind>>{{"balance", ClimateKind::balance},
                                                                                 {"imposed", ClimateKind::imposed}});
  climate.outdoor_preset = section.choice({.name = "outdoor",
                                           .options = presets,
                                           .default_value = presets.front(),
                                           .help = "Balance: a preset of the outdoor climate."});
  climate.hourly_deg_c =
      section
          .optional_numbers(
              {.name = "outdoor_hours",
               .unit = "degC",
               .low = -50,
               .high = 55,
               .min_items = 24,
               .help = "Balance: hourly outdoor temperatures from 00:00 of the start date, in place of the preset."})
          .value_or(std::vector<double>{});
  climate.hourly_humidity_percent =
      section
          .optional_numbers({.name = "outdoor_humidity_hours",
                             .unit = "%",
                             .low = 1,
                             .high = 100,
                             .min_items = 24,
                             .help = "Balance: hourly outdoor relative humidity that goes with outdoor_hours."})
          .value_or(std::vector<double>{});
  if (climate.hourly_deg_c.size() != climate.hourly_humidity_percent.size()) {
    section.refuse("outdoor_humidity_hours", "has another length than outdoor_hours", "one value for each hour");
  }
  const double temperature_deg_c = section.number({.name = "temperature",
                                                   .unit = "degC",
                                                   .low = 5,
                                                   .high = 40,
                                                   .default_value = 20,
                                                   .help = "Imposed: room temperature."});
  const double humidity = section.number({.name = "humidity",
                                          .unit = "%",
                                          .low = 20,
                                          .high = 100,
                                          .default_value = 60,
                                          .help = "Imposed: relative humidity."});
  climate.imposed = OutdoorDay::constant(temperature_deg_c, humidity);
  const auto hours =
      section.optional_numbers({.name = "temperature_hours",
                                .unit = "degC",
                                .low = 5,
                                .high = 40,
                                .min_items = 24,
                                .max_items = 24,
                                .help = "Imposed: room temperature of each hour of the day, in place of one value."});
  if (hours) std::ranges::copy(*hours, climate.imposed.temperature_deg_c.begin());
  return climate;
}

BatchSchedule BatchSchedule::read(Section& section) {
  BatchSchedule farm;
  farm.groups =
      section.integer({.name = "groups",
                       .low = 1,
                       .high = 1000,
                       .default_value = 1,
                       .help = "Farrowing groups that count, one after the other; 52 a year of weekly groups."});
  farm.group_every_days = section.integer({.name = "group_every",
                                           .low = 1,
                                           .high = 60,
                                           .default_value = 7,
                                           .help = "Days between the loading of two groups: 7 weekly, 14 two-weekly."});
  farm.rooms_per_group = section.integer(
      {.name = "rooms_per_group", .low = 1, .high = 50, .default_value = 1, .help = "Rooms that one group fills."});
  farm.rooms =
      section.integer({.name = "rooms",
                       .low = 1,
                       .high = 500,
                       .default_value = 1,
                       .help = "Rooms of the farm, all alike; each is emptied, washed and dried before the next "
                               "group comes into it."});
  farm.warm_up_groups = section.optional_integer(
      {.name = "warm_up_groups",
       .low = 0,
       .high = 100,
       .help =
           "Groups that come before those that count; if left out, as many as fill the rooms once, because the farm "
           "starts empty."});
  return farm;
}

int BatchSchedule::lead_out_groups(int last_day_of_room) const {
  return groups == 1 ? 0 : last_day_of_room / group_every_days + 1;
}

int BatchSchedule::groups_in_all(int last_day_of_room) const {
  return lead_in_groups(last_day_of_room) + groups + lead_out_groups(last_day_of_room);
}

int BatchSchedule::lead_in_groups(int last_day_of_room) const {
  return warm_up_groups.value_or(lead_out_groups(last_day_of_room));
}

StaffSettings StaffSettings::read(Section& section) {
  StaffSettings staff;
  for (Section& shift :
       section.list("shifts",
                    "Who is at work when; if left out, two people 07:00-16:00 and one of them at weekends. Working "
                    "alone at night is a hazard of its own.")) {
    staff.shifts.push_back(read_shift(shift));
  }
  if (staff.shifts.empty()) {
    const auto people = section.coefficients().table("staff.attendance.staff_by_day", "people").back();
    staff.shifts = Roster::usual(section.coefficients(), static_cast<int>(people)).shifts();
  }
  return staff;
}

InductionSettings InductionSettings::read(Section& section) {
  InductionSettings induction;
  induction.schedule = section.choice(
      {.name = "kind",
       .default_value = "none",
       .help = "Induction of farrowing: a prescription procedure, the herd veterinarian's decision under local rules; "
               "too early harms the piglets."},
      std::vector<std::pair<std::string, std::optional<InductionSchedule>>>{
          {"none", std::nullopt}, {"single", InductionSchedule::single}, {"split", InductionSchedule::split}});
  induction.gestation_day = section.number({.name = "gestation_day",
                                            .unit = "d",
                                            .low = 110,
                                            .high = 120,
                                            .help = "Day of gestation of the induction.",
                                            .coefficient = "sow.gestation.length_herd_mean"});
  const double earliest_d =
      Induction(section.coefficients()).earliest_d(GestationLength(section.coefficients()).herd_mean_d());
  if (induction.schedule && induction.gestation_day < earliest_d) {
    section.refuse("gestation_day", "is earlier than two days before the herd's mean gestation",
                   "at least " + std::to_string(earliest_d).substr(0, 5) + " d");
  }
  return induction;
}

PrescribedMove PrescribedMove::read(Section& section) {
  PrescribedMove move;
  move.day = section.integer({.name = "day", .low = 0, .high = 60, .help = "Day of the scenario; day 0 is loading."});
  move.time = section.time_of_day({.name = "time", .default_value = "10:00", .help = "Clock time."});
  move.from = section.integer({.name = "from", .low = 1, .high = 500, .help = "Number of the sow that gives piglets."});
  move.to = section.integer({.name = "to", .low = 1, .high = 500, .help = "Number of the sow that gets them."});
  move.piglets = section.integer({.name = "piglets", .low = 1, .high = 30, .help = "How many piglets."});
  move.which =
      section.choice({.name = "which", .default_value = "middle", .help = "Which of her piglets, by weight."},
                     std::vector<std::pair<std::string, Which>>{
                         {"lightest", Which::lightest}, {"middle", Which::middle}, {"heaviest", Which::heaviest}});
  if (move.from == move.to) section.refuse("to", "is the sow the piglets come from", "another sow");
  return move;
}

namespace {

// Every family's policy, by the word after its `kind`.
void read_policies(Section& section, const PolicyCatalogues& catalogues, FarmSettings& room) {
  const auto policy = [&](const char* family, const char* standard, const char* help, const auto& catalogue) {
    Section own = section.section(family, help);
    return own.variants({.name = "kind", .default_value = standard, .help = "Which policy; the keys depend on it."},
                        catalogue);
  };
  room.loading =
      policy("loading", "gilts_together", "When sows come in, and who teaches the first-parity ones to drink and eat.",
             catalogues.loading);
  room.feeding = policy("feeding", "hand", "When feed comes to the troughs and how much.", catalogues.feeding);
  room.water =
      policy("water", "every_drinker", "Which drinkers are looked at, and when they are put right.", catalogues.water);
  room.temperature =
      policy("temperature", "schedule",
             "The room's set point. Lower it only where the creep stays warm; heat lamps are a fire and burn hazard.",
             catalogues.temperature);
  room.attendance = policy("attendance", "rounds", "Farrowing rounds, help and newborn care.", catalogues.attendance);
  room.care = policy("care", "by_signs", "Health checks after farrowing, and what follows from them.", catalogues.care);
  room.fostering = policy("fostering", "none", "Piglets moved between sows.", catalogues.fostering);
  room.handling = policy("handling", "bundled", "When litters are processed.", catalogues.handling);
}

}  // namespace

FarmSettings FarmSettings::read(Section& section, const PolicyCatalogues& catalogues) {
  FarmSettings room;
  room.start = section.date(
      {.name = "start", .default_value = "2026-01-12", .help = "Date of day 0, on which the sows are loaded."});
  room.equipment = section.read<EquipmentSettings>("room", "The room and its equipment.");
  room.climate = section.read<ClimateSettings>("climate", "Where the room's climate comes from.");
  room.group = section.read<GroupSettings>("group", "The farrowing group.");
  room.herd = section.read<HerdSettings>("herd", "The sows.");
  Section diet = section.section("diet", "The lactation diet.");
  room.diet.energy_mcal_per_kg = diet.number({.name = "energy",
                                              .unit = "kcal/kg",
                                              .low = 2500,
                                              .high = 4000,
                                              .help = "Metabolisable energy.",
                                              .coefficient = "sow.diet.metabolisable_energy"}) /
                                 1000;
  room.diet.total_lysine_g_per_kg = diet.number({.name = "total_lysine",
                                                 .unit = "g/kg",
                                                 .low = 4,
                                                 .high = 16,
                                                 .help = "Total lysine.",
                                                 .coefficient = "sow.diet.total_lysine"});
  room.fibre = diet.choice(
      {.name = "fibre", .default_value = "usual", .help = "Fibre in the diet around farrowing."},
      std::vector<std::pair<std::string, FibreInDiet>>{{"usual", FibreInDiet::usual}, {"added", FibreInDiet::added}});
  room.induction = section.read<InductionSettings>("induction", "Induction of farrowing, off by default.");
  room.moves = section.read_list<PrescribedMove>("moves",
                                                 "Piglets moved between sows at given times. Moves carry disease and "
                                                 "cost growth; nurse sows and early weaning are "
                                                 "for the herd veterinarian and local law to decide.");
  room.farm = section.read<BatchSchedule>("farm", "The rooms and the groups; one room and one group if left out.");
  room.staff = section.read<StaffSettings>("staff", "The people, who share their time between all rooms.");
  room.warmest_day_of_year = OutdoorClimate::preset(section.coefficients(), room.climate.outdoor_preset).warmest_day;
  room.wash_and_dry_days = static_cast<int>(section.coefficients().number("sow.herd.wash_and_dry", "d"));
  read_policies(section, catalogues, room);
  if (static_cast<int>(room.herd.sows.size()) > room.equipment.crates) {
    section.refuse("herd",
                   "describes " + std::to_string(room.herd.sows.size()) + " sows for " +
                       std::to_string(room.equipment.crates) + " crates",
                   "at most one sow a crate");
  }
  for (const PrescribedMove& move : room.moves) {
    if (std::max(move.from, move.to) > room.sows())
      section.refuse("moves", "names a sow that is not there", "sows 1 to " + std::to_string(room.sows()));
  }
  const int in_turn =
      room.farm.groups_in_all(room.last_day()) == 1 ? 1 : room.last_day() / room.farm.group_every_days + 1;
  const int rooms_in_use = room.farm.rooms_per_group * in_turn;
  if (room.farm.rooms < rooms_in_use && !section.describing()) {
    section.refuse("farm",
                   "has " + std::to_string(room.farm.rooms) + " rooms, and a group is in " +
                       std::to_string(room.farm.rooms_per_group) + " for " + std::to_string(room.last_day() + 1) +
                       " days until dry",
                   "at least " + std::to_string(rooms_in_use) + " rooms for a group every " +
                       std::to_string(room.farm.group_every_days) + " days");
  }
  if (room.attendance->night_people() > 0 && Roster(room.staff.shifts).goes_through_the_night()) {
    section.refuse("attendance", "asks for people at night, and a shift goes through the night already",
                   "night_people: 0, or shifts that end before midnight");
  }
  return room;
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
  const Time from = Time{} + farm.lead_in_groups(last_day()) * farm.group_every_days * 1_d;
  if (farm.groups == 1) return {from, Time{} + (last_day_of_farm() + 1) * 1_d};
  return {from, from + farm.groups * farm.group_every_days * 1_d};
}

int FarmSettings::last_day_of_farm() const {
  return (farm.groups_in_all(last_day()) - 1) * farm.group_every_days + last_day();
}

int FarmSettings::last_day() const {
  const int slack_d = group.weaning == WeaningRule::each_sow ? 7 : 0;  // the latest farrowings of a group
  return weaning_day() + slack_d + wash_and_dry_days;
}

}  // namespace farrowtide
