// Rows of a sow, her days and her piglets against the state they are written from, each number its own.
#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <string>
#include <utility>

#include "tests/unit/model/simulated_farm.hpp"

namespace farrowtide {
namespace {

// A sow that farrowed on day 3 and was weaned on the morning of day 25; her rows are written at the end of day 28.
struct Written : PausedFarm {
  explicit Written(const std::string& herd =
                       "mortality: off, health: off, every_sow: {parity: 3, total_born: 11, farrows_on_day: 3}",
                   Time at = Time{} + 28_d)
      : PausedFarm(
            "room: {crates: 1, drinker_blockages: off}\nclimate: {kind: imposed, temperature: 20}\n"
            "loading: {days_before_due: 4}\ngroup: {lactation_days: 21}\nherd: {" +
                herd + "}\n",
            at) {}

  using Row = std::map<std::string, double>;
  std::vector<Row> rows(const Table& table) {
    run_until(room().end());
    std::vector<Row> all(table.rows());
    for (const ColumnInfo& info : table.infos()) {
      const auto values = column(table, info.name);
      for (std::size_t i = 0; i < values.size(); ++i) all[i][std::string(info.name)] = values[i];
    }
    return all;
  }
};

void expect_in(const Written::Row& row, const std::map<std::string, double>& expected) {
  for (const auto& [name, value] : expected) {
    ASSERT_TRUE(row.contains(name)) << name;
    if (std::isnan(value)) {
      EXPECT_TRUE(std::isnan(row.at(name))) << name << " is " << row.at(name);
    } else {
      EXPECT_NEAR(row.at(name), value, 1e-9) << name;
    }
  }
}

TEST(SowDayRow, HoldsTheNumbersOfItsDay) {
  Written farm;
  SowDay day{.calendar_day = 7, .farrowed = true, .ill = true, .meals = 5, .piglets = 10};
  const std::map<std::string, double SowDay::*> fields = {
      {"appetite_kg", &SowDay::appetite_kg},
      {"offered_kg", &SowDay::offered_kg},
      {"undelivered_kg", &SowDay::undelivered_kg},
      {"eaten_kg", &SowDay::eaten_kg},
      {"wasted_kg", &SowDay::wasted_kg},
      {"removed_kg", &SowDay::removed_kg},
      {"in_trough_at_midnight_kg", &SowDay::in_trough_at_midnight_kg},
      {"water_l", &SowDay::water_l},
      {"effective_temperature_deg_c", &SowDay::effective_temperature_deg_c},
      {"room_temperature_deg_c", &SowDay::room_temperature_deg_c},
      {"weight_kg", &SowDay::weight_kg},
      {"weighed_kg", &SowDay::weighed_kg},
      {"backfat_mm", &SowDay::backfat_mm},
      {"weight_change_kg", &SowDay::weight_change_kg},
      {"energy_eaten_mcal", &SowDay::energy_eaten_mcal},
      {"maintenance_mcal", &SowDay::maintenance_mcal},
      {"milk_mcal", &SowDay::milk_mcal},
      {"milk_potential_mcal", &SowDay::milk_potential_mcal},
      {"body_energy_change_mcal", &SowDay::body_energy_change_mcal},
      {"litter_gain_kg", &SowDay::litter_gain_kg}};
  std::map<std::string, double> expected = {{"sow", 1}, {"parity", 3}, {"farrowed", 1},
                                            {"ill", 1}, {"meals", 5},  {"piglets", 10}};
  for (double value = 100; const auto& [name, field] : fields) expected[name] = day.*field = value++;
  expected["day"] = 7 - farm.sow().reference_day();
  farm.sow().days = {day, {.calendar_day = 8}};
  const auto rows = farm.rows(farm.tables().sow_days);
  ASSERT_EQ(rows.size(), 2u);
  expect_in(rows[0], expected);
  expect_in(rows[1], {{"day", expected["day"] + 1}, {"farrowed", 0}, {"ill", 0}});
}

TEST(PigletRow, HoldsTheNumbersOfAPigletThatWasWeaned) {
  Written farm;
  Piglet& piglet = farm.sow().litter.piglets.at(1);
  const double weaned_kg = piglet.weaning_weight_kg.value(), age_d = piglet.age_at_weaning_d.value();
  piglet.sex = Sex::male;
  piglet.birth_weight_kg = 1.25;
  piglet.birth_interval_min = 17;
  piglet.birth_interval_drawn_min = 13;
  piglet.assisted = true;
  piglet.attended = piglet.born_on_duty = false;
  piglet.colostrum_g = 321;
  piglet.moves = 2;
  piglet.has_scoured = true;
  piglet.thresholds = {0.1, 0.2, 0.3, 0.4};  // crushed, starved, scours, other
  const Time born = piglet.born;
  const auto rows = farm.rows(farm.tables().piglets);
  ASSERT_EQ(rows.size(), 11u);
  expect_in(rows[1], {{"sow", 1},
                      {"birth_order", 2},
                      {"male", 1},
                      {"birth_weight_kg", 1.25},
                      {"birth_time_h", born.since_start().hours()},
                      {"birth_interval_min", 17},
                      {"birth_interval_drawn_min", 13},
                      {"assisted", 1},
                      {"attended", 0},
                      {"born_on_duty", 0},
                      {"reared_by", 1},
                      {"colostrum_g", 321},
                      {"moves", 2},
                      {"scoured", 1},
                      {"fate", static_cast<double>(PigletFate::weaned)},
                      {"cause", 0},
                      {"age_at_death_d", missing},
                      {"age_at_weaning_d", age_d},
                      {"weaning_weight_kg", weaned_kg},
                      {"threshold_crushed", 0.1},
                      {"threshold_starved", 0.2},
                      {"threshold_other", 0.4}});
  expect_in(rows[0], {{"birth_interval_min", missing}, {"birth_interval_drawn_min", missing}});
}

TEST(PigletRow, OfOneThatDiedOrWasStillbornLacksWhatItNeverHad) {
  Written farm;
  Piglet& dead = farm.sow().litter.piglets.at(2);
  dead.sex = Sex::female;
  dead.fate = PigletFate::died;
  dead.cause = DeathCause::other;
  dead.age_at_death_d = 3.5;
  dead.age_at_weaning_d.reset();
  dead.weaning_weight_kg.reset();
  dead.attended = dead.born_on_duty = true;
  Piglet& stillborn = farm.sow().litter.piglets.at(3);
  stillborn.fate = PigletFate::stillborn;
  stillborn.reared_by = nullptr;
  const auto rows = farm.rows(farm.tables().piglets);
  expect_in(rows[2], {{"male", 0},
                      {"fate", static_cast<double>(PigletFate::died)},
                      {"cause", 4},
                      {"age_at_death_d", 3.5},
                      {"age_at_weaning_d", missing},
                      {"weaning_weight_kg", missing},
                      {"attended", 1},
                      {"born_on_duty", 1},
                      {"assisted", 0}});
  expect_in(rows[3], {{"fate", static_cast<double>(PigletFate::stillborn)}, {"colostrum_g", missing}});
  EXPECT_LT(rows[3].at("reared_by"), 1);
}

TEST(SowRow, HoldsHerFarrowingAndHerLitter) {
  Written farm;
  Sow& sow = farm.sow();
  Litter& litter = sow.litter;
  for (Piglet& piglet : litter.piglets) piglet.assisted = piglet.attended = piglet.born_on_duty = false;
  const auto mark = [&](bool Piglet::*what, std::initializer_list<std::size_t> whom) {
    for (const std::size_t i : whom) litter.piglets.at(i).*what = true;
  };
  mark(&Piglet::assisted, {0});
  mark(&Piglet::attended, {0, 1, 2, 3});
  mark(&Piglet::born_on_duty, {2, 3, 4, 5, 6});
  litter.piglets.at(5).moves = 2;
  litter.piglets.at(6).moves = 1;
  litter.moved_in = 4;
  litter.moved_out = 3;
  litter.died = 1;
  litter.orphans_moved = 6;
  litter.orphans_lost = 5;
  litter.has_scoured = true;
  sow.labour.exams = 7;
  const double weaned_kg = litter.weight_kg();
  const auto row = farm.rows(farm.tables().sows).at(0);
  expect_in(row, {{"sow", 1},
                  {"parity", 3},
                  {"nurse", 0},
                  {"functional_teats", static_cast<double>(sow.traits.functional_teats)},
                  {"total_born", 11},
                  {"born_alive", 11},
                  {"stillborn", 0},
                  {"exams", 7},
                  {"assisted_births", 1},
                  {"attended_births", 4},
                  {"births_on_duty", 5},
                  {"attended_births_on_duty", 2},
                  {"induced", 0},
                  {"gestation_length_d", sow.traits.gestation_length_d},
                  {"farrowing_start_h", sow.traits.onset.since_start().hours()},
                  {"farrowing_duration_min", (sow.labour.last_birth - sow.traits.onset).minutes()},
                  {"weaned", 11},
                  {"litter_weight_at_weaning_kg", weaned_kg},
                  {"died_before_weaning", 1},
                  {"piglets_moved_in", 4},
                  {"piglets_moved_out", 3},
                  {"born_here_and_moved", 2},
                  {"orphans_moved", 6},
                  {"orphans_lost", 5},
                  {"scours", 1},
                  {"left_as", static_cast<double>(SowFate::weaned)},
                  {"appetite_effect_log", sow.traits.effects.appetite_log},
                  {"milk_effect_log", sow.traits.effects.milk_log},
                  {"duration_effect_log", sow.traits.effects.farrowing_duration_log}});
}

TEST(SowRow, SumsUpHerLactationAndHerBody) {
  Written farm;
  Sow& sow = farm.sow();
  const int day_0 = sow.reference_day(), onset_day = static_cast<int>(sow.traits.onset.day());
  ASSERT_EQ(onset_day, 3);
  sow.days.clear();
  // The day of loading is no whole day, and day 3 is that of the first birth.
  for (const double kg : {9.0, 2.0, 3.0, 9.0}) {
    sow.days.push_back({.calendar_day = static_cast<int>(sow.days.size()), .eaten_kg = kg});
  }
  while (sow.days.back().calendar_day < day_0) sow.days.push_back({.calendar_day = sow.days.back().calendar_day + 1});
  for (int day = 1; day <= 8; ++day) {
    sow.days.push_back({.calendar_day = day_0 + day,
                        .farrowed = true,
                        .meals = day,
                        .eaten_kg = day == 2   ? 0.0
                                    : day == 3 ? 1.0
                                               : day,
                        .water_l = 10.0 * day,
                        .milk_mcal = 2.0 * day,
                        .litter_gain_kg = day / 4.0});
  }
  BodyState& body = sow.body;
  body.weight_at_farrowing_kg = 250;
  body.weight_kg = 235;
  body.backfat_at_farrowing_mm = 18;
  body.backfat_mm = 15.5;
  sow.feeding.mornings = {.read = 9, .empty = 4, .untouched = 3};
  sow.feeding.mornings_at_check = {.read = 8, .empty = 2, .untouched = 1};
  const Trough& trough = sow.feeding.trough;
  const auto kg = [](std::int64_t grams) { return static_cast<double>(grams) / 1000; };
  const double removed_kg = kg(trough.removed_g()), wasted_kg = kg(trough.wasted_g()),
               offered_kg = kg(trough.offered_g()), undelivered_kg = kg(trough.undelivered_g());
  const auto row = farm.rows(farm.tables().sows).at(0);
  const double eaten_kg = 1 + 0 + 1 + 4 + 5 + 6 + 7 + 8;
  expect_in(row, {{"lactation_length_d", 25.0 - day_0},
                  {"feed_intake_kg_per_day", eaten_kg / 8},
                  {"feed_intake_d1_7_kg_per_day", (eaten_kg - 8) / 7},
                  {"pre_farrow_intake_kg_per_day", 2.5},
                  {"meals_per_day", 36.0 / 8},
                  {"zero_feed_days", 1},
                  {"low_feed_days", 3},
                  {"water_l_per_day", 45},
                  {"milk_mcal_per_day", 9},
                  {"litter_gain_kg_per_day", 36.0 / 4 / 8},
                  {"feed_offered_kg", offered_kg},
                  {"feed_undelivered_kg", undelivered_kg},
                  {"feed_wasted_kg", wasted_kg},
                  {"feed_removed_kg", removed_kg},
                  {"trough_mornings", 9},
                  {"empty_mornings", 4},
                  {"untouched_mornings", 3},
                  {"checked_empty_mornings", 2},
                  {"checked_untouched_mornings", 1},
                  {"weight_after_farrowing_kg", 250},
                  {"weight_at_weaning_kg", 235},
                  {"weight_loss_kg", 15},
                  {"weight_loss_percent", 6},
                  {"backfat_at_farrowing_mm", 18},
                  {"backfat_loss_mm", 2.5}});
}

TEST(SowRow, CountsHoursOfHealthFromTheLastBirth) {
  Written farm;
  Sow& sow = farm.sow();
  const Time born = sow.labour.last_birth;
  HealthState& health = sow.health;
  health.placenta = PlacentaState{.expelled_after_min = 222, .retained = true};
  health.fell_ill = born + 20_h;
  health.recovered = born + 80_h;
  health.first_sign = born + 30_h;
  health.first_treated = born + 33_h;
  health.rectal_temperature_deg_c = 39.7;
  sow.water.low_drinker = true;
  const double flow = sow.water.drinker.flow_l_per_min;
  Written whole;
  whole.sow().health.placenta = PlacentaState{.expelled_after_min = 111, .retained = false};
  expect_in(whole.rows(whole.tables().sows).at(0), {{"placenta_min", 111}, {"placenta_retained", 0}});
  const auto row = farm.rows(farm.tables().sows).at(0);
  expect_in(row, {{"placenta_min", 222},
                  {"placenta_retained", 1},
                  {"disorder_onset_h", 20},
                  {"disorder_days", 2.5},
                  {"found_h", 30},
                  {"treated_h", 33},
                  {"rectal_temperature_deg_c", 39.7},
                  {"low_drinker", 1},
                  {"leg_trouble", 0},
                  {"drinker_flow_l_per_min", flow},
                  {"learned_drinker_h", missing},
                  {"learned_feeder_h", missing}});
}

TEST(SowRow, NamesTheTroubleOfHerLegs) {
  const SimulatedFarm farm("room: {crates: 3}\nclimate: {kind: imposed}\n", 0, {{"sow.legs.prevalence", 1}});
  EXPECT_EQ(farm.column(farm.tables().sows, "leg_trouble"), std::vector<double>(3, 1));
}

TEST(SowRow, CountsAnIllnessUpToWeaning) {
  Written never;
  never.sow().health.rectal_temperature_deg_c.reset();
  expect_in(never.rows(never.tables().sows).at(0), {{"disorder_days", 0},
                                                    {"disorder_onset_h", missing},
                                                    {"found_h", missing},
                                                    {"treated_h", missing},
                                                    {"rectal_temperature_deg_c", missing},
                                                    {"low_drinker", 0}});
  Written farm;
  farm.sow().health.fell_ill = farm.sow().departure->at - 3_d;
  expect_in(farm.rows(farm.tables().sows).at(0), {{"disorder_days", 3}});
}

TEST(SowRow, CountsHoursUntilAFirstParitySowHasLearned) {
  const auto row_of = [](Skill drinker, Skill feeder) {
    Written farm("mortality: off, health: off, every_sow: {parity: 1, total_born: 11, farrows_on_day: 3}");
    farm.sow().water.uses_drinker = drinker;
    farm.sow().water.uses_feeder = feeder;
    return farm.rows(farm.tables().sows).at(0);
  };
  const Time loading = Time{} + 8_h;  // of the day
  expect_in(row_of({.known = true, .learned_at = loading + 24_h}, {.known = true, .learned_at = {}}),
            {{"learned_drinker_h", 24}, {"learned_feeder_h", 0}, {"ready_in_time", 1}});
  expect_in(row_of({.known = true, .learned_at = {}}, {.known = true, .learned_at = loading + 24_h + 1_s}),
            {{"learned_drinker_h", 0}, {"ready_in_time", 0}});
  expect_in(row_of({.known = false, .learned_at = {}}, {.known = true, .learned_at = {}}),
            {{"learned_drinker_h", missing}, {"ready_in_time", 0}});
}

TEST(SowRow, HoldsTheNextCycleOnlyOfASowThatShowsOestrus) {
  Written farm;
  farm.sow().departure->next_cycle =
      NextCycle{.weaning_to_oestrus_d = 5, .farrowing_rate = 0.8, .total_born_change = -0.4, .removal_risk = 0.1};
  expect_in(farm.rows(farm.tables().sows).at(0), {{"anoestrous", 0},
                                                  {"weaning_to_oestrus_d", 5},
                                                  {"farrowing_rate", 0.8},
                                                  {"next_total_born_change", -0.4},
                                                  {"removal_risk", 0.1}});
  Written without;
  without.sow().departure->next_cycle = NextCycle{.removal_risk = 0.3};
  expect_in(without.rows(without.tables().sows).at(0), {{"anoestrous", 1},
                                                        {"weaning_to_oestrus_d", missing},
                                                        {"farrowing_rate", missing},
                                                        {"next_total_born_change", missing},
                                                        {"removal_risk", 0.3}});
}

}  // namespace
}  // namespace farrowtide
