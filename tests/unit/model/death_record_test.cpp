// The record of a death: which drivers it names, and that each ratio is about one of them and no other.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <string>

#include "libsim/model/litter_mortality.hpp"
#include "tests/unit/model/simulated_farm.hpp"

namespace farrowtide {
namespace {

constexpr Time now = Time{} + 6_d + 12_h;

struct Place {
  std::string sow = "parity: 2, functional_teats: 16", crate = "crate", room = "25";
  Values values = {};
};

// A sow of second parity in a crate at 25 degC, with ten piglets that nothing puts at risk; one of them dies.
struct Deathbed : PausedFarm {
  Deathbed(Duration age, const Place& place)
      : PausedFarm("room: {crates: 1, drinker_blockages: off, farrowing_place: " + place.crate +
                       "}\nclimate: {kind: imposed, temperature: " + place.room +
                       "}\nstaff: {shifts: [{from: \"00:00\", until: \"00:10\", break: 0 min}]}\n"
                       "herd: {mortality: off, every_sow: {total_born: 10, farrows_on_day: 3, " +
                       place.sow + "}}\n",
                   now, with(place.values)) {
    sow().day_0 = static_cast<int>((now - age).day());
    sow().labour.last_birth = sow().traits.onset;
    sow().litter.birth_frailty = sow().litter.rear_frailty = 0;
    sow().litter.middle_frailty = sow().litter.late_frailty = 0;
    sow().litter.unfed_share = 0;
    sow().litter.teats.suckled_on_day.assign(20, sow().traits.functional_teats);
    for (Piglet* each : sow().litter.sucklings) {
      each->born = now - age;
      each->birth_weight_kg = biology().survival.weight_knee_kg();
      each->weight_kg = 2;
      each->colostrum_g = 1e6;
      each->care_log_hazard = 0;
      each->splay_legged = false;
    }
  }
  Piglet& piglet() { return *sow().litter.sucklings.front(); }

  using Row = std::map<std::string, double>;
  Row die_of(DeathCause cause) {
    die(room(), sow(), piglet(), cause);
    Row row;
    for (const ColumnInfo& info : tables().deaths.infos())
      row[std::string(info.name)] = column(tables().deaths, info.name).back();
    return row;
  }

 private:
  static Values with(const Values& place) {
    Values values = {{"sow.milk.litter_start.bad_start_share", 0},
                     {"sow.post_partum_disorder.risk.intercept", -40},
                     {"sow.legs.prevalence", 0},
                     {"litter.scours.onset_early", 0},
                     {"litter.scours.onset_late", 0}};
    values.insert(values.end(), place.begin(), place.end());
    return values;
  }
};

TEST(DeathRecord, HasRatiosOfOneWhereNothingPutsAPigletAtRisk) {
  for (const Duration age : {6_h, 60_h}) {
    const auto row = Deathbed(age, {}).die_of(DeathCause::starved);
    int ratios = 0;
    for (const auto& [name, value] : row) {
      if (!name.ends_with("_ratio")) continue;
      ++ratios;
      EXPECT_EQ(value, 1) << name << " at " << age.hours() << " h";
    }
    EXPECT_EQ(ratios, 15);
  }
}

struct Driver {
  const char* ratio;
  Duration age;
  DeathCause cause;
  bool raises;
  std::function<void(Deathbed&)> change;
  Place place = {};
};

TEST(DeathRecord, HasOneRatioForEachDriver) {
  using enum DeathCause;
  const auto piglet = [](auto change) { return [change](Deathbed& bed) { change(bed.piglet()); }; };
  const auto litter = [](auto change) { return [change](Deathbed& bed) { change(bed.sow().litter); }; };
  const auto nothing = [](Deathbed&) {};
  const auto ill = [](Deathbed& bed) { bed.sow().health.fell_ill = now - 1_h; };
  const std::vector<Driver> drivers = {
      {"birth_weight_ratio", 6_h, starved, true, piglet([](Piglet& each) { each.birth_weight_kg = 0.8; })},
      {"colostrum_ratio", 6_h, starved, true, piglet([](Piglet& each) { each.colostrum_g = 50; })},
      {"below_mates_ratio", 60_h, starved, true, piglet([](Piglet& each) { each.weight_kg = 1; })},
      {"temperature_ratio", 6_h, starved, true, nothing, {.room = "10"}},
      {"surplus_ratio", 60_h, starved, true, nothing, {.sow = "parity: 2, functional_teats: 8"}},
      {"unfed_ratio", 60_h, starved, true, litter([](Litter& all) { all.unfed_share = 0.5; })},
      {"farrowing_ratio", 6_h, starved, true,
       [](Deathbed& bed) { bed.sow().labour.last_birth = bed.sow().traits.onset + 10_h; }},
      {"stillborn_ratio", 60_h, starved, true, litter([](Litter& all) { all.stillborn = 3; })},
      {"moves_ratio", 60_h, starved, true,
       piglet([](Piglet& each) { each.move_burden = {.log_hazard = 0.5, .log_hazard_until_age_d = 9}; })},
      {"splay_legs_ratio", 6_h, crushed, true, piglet([](Piglet& each) { each.splay_legged = true; })},
      {"sow_ratio", 60_h, crushed, true, ill},
      {"sow_ratio", 60_h, starved, true, [](Deathbed& bed) { bed.sow().water.low_drinker = true; }},
      {"sow_ratio", 60_h, crushed, true, nothing, {.values = {{"sow.legs.prevalence", 1}}}},
      {"place_ratio", 60_h, crushed, true, nothing, {.crate = "pen"}},
      {"care_ratio", 6_h, starved, false, piglet([](Piglet& each) { each.care_log_hazard = -0.4; })},
      {"parity_ratio", 6_h, starved, false, nothing, {.sow = "parity: 1, functional_teats: 16"}},
      {"litter_ratio", 6_h, other, true, litter([](Litter& all) { all.birth_frailty = 0.3; })},
      {"litter_ratio", 6_h, other, true, litter([](Litter& all) { all.rear_frailty = 0.3; })},
      {"litter_ratio", 60_h, other, true, litter([](Litter& all) { all.middle_frailty = 0.3; })},
      {"litter_ratio", 210_h, other, false, litter([](Litter& all) { all.late_frailty = -0.3; })},
  };
  for (const Driver& driver : drivers) {
    Deathbed bed(driver.age, driver.place);
    driver.change(bed);
    const auto row = bed.die_of(driver.cause);
    for (const auto& [name, value] : row) {
      if (!name.ends_with("_ratio")) continue;
      if (name != driver.ratio) {
        EXPECT_EQ(value, 1) << name << " beside " << driver.ratio;
      } else {
        EXPECT_EQ(value > 1, driver.raises) << name << " is " << value;
        EXPECT_NE(value, 1) << name;
      }
    }
  }
}

TEST(DeathRecord, NamesTheStateOfPigletLitterAndSow) {
  Deathbed bed(
      60_h,
      {.sow = "parity: 4, functional_teats: 16", .crate = "pen", .room = "23", .values = {{"sow.legs.prevalence", 1}}});
  Piglet& piglet = bed.piglet();
  Sow& sow = bed.sow();
  piglet.birth_weight_kg = 1.1;
  piglet.weight_kg = 1.2;
  piglet.colostrum_g = 200;
  piglet.splay_legged = piglet.scouring = true;
  piglet.moves = 2;
  sow.labour.last_birth = sow.traits.onset + 3_h;
  sow.litter.stillborn = 1;
  sow.litter.unfed_share = 0.25;
  sow.health.fell_ill = now - 1_h;
  sow.water.low_drinker = true;
  sow.litter.hazards.set_rates(piglet.slot, {0.1, 0.2, 0.3, 0.4});
  const int rank = piglet.birth_rank;
  auto row = bed.die_of(DeathCause::crushed);
  EXPECT_EQ(row["sow"], 1);
  EXPECT_EQ(row["reared_by"], 1);
  EXPECT_EQ(row["birth_order"], rank);
  EXPECT_EQ(row["cause"], 1) << "as in the names of causes, after none";
  EXPECT_EQ(row["orphaned"], 0);
  EXPECT_EQ(row["time_h"], now.since_start().hours());
  EXPECT_EQ(row["age_h"], 60);
  EXPECT_EQ(row["birth_weight_kg"], 1.1);
  EXPECT_EQ(row["weight_kg"], 1.2);
  EXPECT_NEAR(row["below_mates_kg"], 0.8, 1e-9);
  EXPECT_EQ(row["colostrum_g"], 200);
  EXPECT_EQ(row["room_deg_c"], 23);
  EXPECT_EQ(row["unfed_share"], 0.25);
  EXPECT_EQ(row["farrowing_duration_min"], 180);
  EXPECT_EQ(row["stillborn"], 1);
  EXPECT_EQ(row["moves"], 2);
  EXPECT_EQ(row["parity"], 4);
  for (const char* yes : {"splay_legged", "scouring", "pen", "sow_ill", "sow_lame", "low_drinker"})
    EXPECT_EQ(row[yes], 1) << yes;
  EXPECT_EQ(row["bad_start"], 0);
  EXPECT_EQ(row["hazard_per_day"], 0.1);
  EXPECT_EQ(row["cared_for"], -1) << "care no longer matters after two days";
  EXPECT_EQ(row["base_hazard_per_day"], bed.biology().survival.base_per_day(2.5, DeathCause::crushed));
}

TEST(DeathRecord, SaysOfNoStateThatIsNot) {
  auto row = Deathbed(60_h, {}).die_of(DeathCause::other);
  for (const char* no : {"splay_legged", "scouring", "pen", "sow_ill", "sow_lame", "low_drinker", "bad_start", "moves",
                         "stillborn", "surplus_piglets"})
    EXPECT_EQ(row[no], 0) << no;
}

TEST(DeathRecord, NamesABadStartWhileItCounts) {
  const Place bad_start{.values = {{"sow.milk.litter_start.bad_start_share", 1}}};
  auto early = Deathbed(60_h, bad_start).die_of(DeathCause::starved);
  EXPECT_EQ(early["bad_start"], 1);
  EXPECT_GT(early["sow_ratio"], 1);
  auto late = Deathbed(210_h, bad_start).die_of(DeathCause::starved);
  EXPECT_EQ(late["bad_start"], 0);
  EXPECT_EQ(late["sow_ratio"], 1);
}

TEST(DeathRecord, CountsPigletsAboveUsableTeats) {
  Deathbed bed(60_h, {.sow = "parity: 2, functional_teats: 8"});
  EXPECT_EQ(bed.die_of(DeathCause::other)["surplus_piglets"], 2);
}

TEST(DeathRecord, TellsWhetherANewbornPigletWasCaredFor) {
  for (const bool cared : {false, true}) {
    Deathbed bed(6_h, {});
    bed.piglet().cared_for = cared;
    EXPECT_EQ(bed.die_of(DeathCause::starved)["cared_for"], cared ? 1 : 0);
  }
}

TEST(DeathRecord, OfAnOrphanKnowsNoHazard) {
  Deathbed bed(60_h, {});
  bed.sow().left.reach();
  auto starved = bed.die_of(DeathCause::starved);
  EXPECT_EQ(starved["orphaned"], 1);
  EXPECT_TRUE(std::isnan(starved["hazard_per_day"]));
  EXPECT_TRUE(std::isnan(starved["base_hazard_per_day"]));
  EXPECT_TRUE(std::isnan(starved["parity_ratio"]));
  auto crushed = bed.die_of(DeathCause::crushed);
  EXPECT_EQ(crushed["orphaned"], 0) << "it did not die for want of a sow";
  EXPECT_FALSE(std::isnan(crushed["parity_ratio"]));
}

// A death is due at the end of a second: its rates are those of the age before, even just after a boundary.
TEST(DeathRecord, UsesTheRatesThatLedToIt) {
  Deathbed bed(Duration::from_days(1) + 1_s, {});
  bed.piglet().rates_until_age_d = 1;
  const auto row = bed.die_of(DeathCause::other);
  const Survival& survival = bed.biology().survival;
  EXPECT_EQ(row.at("base_hazard_per_day"), survival.base_per_day(0.5, DeathCause::other));
  EXPECT_NE(row.at("base_hazard_per_day"), survival.base_per_day(1.5, DeathCause::other));
}

TEST(Death, LeavesTheLitterOneLess) {
  Deathbed bed(60_h, {});
  Piglet& piglet = bed.piglet();
  const int died = bed.sow().litter.died, to_remove = bed.sow().litter.dead_to_remove;
  die(bed.room(), bed.sow(), piglet, DeathCause::other);
  EXPECT_EQ(piglet.life, Life::dead);
  EXPECT_EQ(piglet.fate, PigletFate::died);
  EXPECT_EQ(piglet.cause, DeathCause::other);
  EXPECT_EQ(piglet.age_at_death_d, 2.5);
  EXPECT_EQ(bed.sow().litter.nursing(), 9);
  EXPECT_EQ(bed.sow().litter.died, died + 1);
  EXPECT_EQ(bed.sow().litter.dead_to_remove, to_remove + 1);
  const auto events = bed.events();
  EXPECT_EQ(events.back().what, EventKind::piglet_died);
  EXPECT_EQ(events.back().piglet, piglet.birth_rank);
  EXPECT_EQ(events.back().amount, 2.5);
  EXPECT_EQ(events.back().detail, piglet.cause_code());
}

}  // namespace
}  // namespace farrowtide
