// Health of one sow after farrowing: when she falls ill and recovers, what staff find, and what they then ask for.
#include "libsim/model/recovering.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "libsim/model/troughs.hpp"
#include "tests/unit/model/simulated_farm.hpp"

namespace farrowtide {
namespace {

constexpr Time noon = Time{} + 8_d + 12_h;

// Nobody is at work but for ten minutes after midnight.
std::string one_sow(const std::string& care, const std::string& more = "") {
  return "room: {crates: 1, drinker_blockages: off}\nclimate: {kind: imposed, temperature: 20}\n"
         "staff: {shifts: [{from: \"00:00\", until: \"00:10\", break: 0 min}]}\ncare: " +
         care + "\nherd: {mortality: off, every_sow: {parity: 3, total_born: 12, farrows_on_day: 3}}\n" + more;
}

const Values never_ill = {{"sow.post_partum_disorder.risk.intercept", -40}, {"sow.legs.prevalence", 0}};
const Values ill_at_20_h = {{"sow.post_partum_disorder.risk.intercept", 40},
                            {"sow.post_partum_disorder.course.onset_median", 20},
                            {"sow.post_partum_disorder.course.onset_sd", 0},
                            {"sow.post_partum_disorder.course.recovery_untreated", 0},
                            {"sow.rectal_temperature.severity_sd", 0},
                            {"sow.sow_loss.death_in_room", 0},
                            {"sow.legs.prevalence", 0}};

struct Patient : PausedFarm {
  explicit Patient(const std::string& yaml, const Values& values = never_ill, Time at = noon)
      : PausedFarm(yaml, at, values) {}
  HealthState& health() { return sow().health; }
  void forget_signs() {
    health().signs.reset();
    health().first_sign.reset();
    health().seen_lame = false;
  }
  int count(EventKind kind) const { return static_cast<int>(std::ranges::count(events(), kind, &Event::what)); }
  int asked_for(TaskKind kind) {  // until the end of the next night, when everything is done or given up
    run_until(room().now() + 2_d);
    const auto kinds = column(tables().visits, "kind");
    return static_cast<int>(std::ranges::count(kinds, static_cast<double>(kind)));
  }
};

TEST(Illness, BeginsHoursAfterTheLastBirthAndActsAtOnce) {
  Patient farm(one_sow("{kind: by_signs, checks: []}"), ill_at_20_h, Time{});
  const Time born = [&] {
    while (!farm.sow().farrowed.reached()) farm.run_until(farm.room().now() + 10_min);
    return farm.sow().labour.last_birth;
  }();
  farm.run_until(born + 20_h - 1_s);
  EXPECT_FALSE(farm.health().ill());
  const double appetite_kg = farm.sow().feeding.appetite_kg;
  farm.run_until(born + 20_h);
  EXPECT_TRUE(farm.health().ill());
  EXPECT_EQ(farm.health().fell_ill, born + 20_h);
  EXPECT_LT(farm.sow().feeding.appetite_kg, 0.9 * appetite_kg);
  const auto events = farm.events();
  const auto told = std::ranges::find(events, EventKind::fell_ill, &PausedFarm::Event::what);
  ASSERT_NE(told, events.end());
  EXPECT_EQ(told->amount, farm.health().severity);
}

TEST(Illness, RaisesTheHazardsOfThePigletsAtOnce) {
  Patient farm(
      "room: {crates: 1, drinker_blockages: off}\nclimate: {kind: imposed, temperature: 20}\n"
      "care: {kind: by_signs, checks: []}\nherd: {every_sow: {parity: 3, total_born: 12, farrows_on_day: 3}}\n",
      ill_at_20_h, Time{});
  while (!farm.sow().farrowed.reached()) farm.run_until(farm.room().now() + 10_min);
  const Time falls_ill = farm.sow().labour.last_birth + 20_h;
  farm.run_until(falls_ill - 1_s);
  const Piglet& piglet = *farm.sow().litter.sucklings.back();
  const auto crushed_per_day = [&] {
    return farm.sow().litter.hazards.rates(piglet.slot)[static_cast<std::size_t>(DeathCause::crushed)];
  };
  const double before = crushed_per_day();
  farm.run_until(falls_ill);
  EXPECT_GT(crushed_per_day(), 1.05 * before);
}

// Recovery is immediate at a high hazard; only treatment has one here, and early treatment a higher one than late.
TEST(Illness, EndsByTheHazardOfItsTreatment) {
  const auto recovers = [](Duration treated_after, double early_per_day, double late_per_day) {
    Values values = ill_at_20_h;
    values.insert(values.end(), {{"sow.post_partum_disorder.course.recovery_treated", early_per_day},
                                 {"sow.post_partum_disorder.course.recovery_treated_late", late_per_day},
                                 {"sow.post_partum_disorder.course.late_after", 24}});
    Patient farm(one_sow("{kind: by_signs, checks: []}"), values, Time{} + 5_d);
    EXPECT_TRUE(farm.health().ill());
    farm.run_until(*farm.health().fell_ill + treated_after);
    treat(farm.room(), farm.sow());
    EXPECT_EQ(farm.health().first_treated, farm.room().now());
    farm.run_until(farm.room().now() + 1_h);
    EXPECT_EQ(farm.count(EventKind::recovered), farm.health().recovered ? 1 : 0);
    return !farm.health().ill();
  };
  EXPECT_TRUE(recovers(24_h - 1_s, 1e6, 0));
  EXPECT_FALSE(recovers(24_h, 1e6, 0));
  EXPECT_TRUE(recovers(24_h, 0, 1e6));
  EXPECT_FALSE(recovers(24_h - 1_s, 0, 1e6));
}

// One driver alone decides: without it the odds are nil, with it they are overwhelming.
TEST(Illness, FollowsFromEachOfItsCauses) {
  struct Cause {
    const char* driver;
    double weight;
    std::function<void(Sow&)> change;  // while she is in labour
    std::string sow = "";
    std::string room = "20";
    Values values = {};
  };
  const auto nothing = [](Sow&) {};
  const Values placenta_out = {{"sow.placenta.expulsion_median", 10},
                               {"sow.placenta.expulsion_sd", 0},
                               {"sow.placenta.retention_intercept", -40}};
  const auto falls_ill = [&](const Cause& cause, bool with) {
    Values values = ill_at_20_h;
    values.front().second = -40;
    for (const char* driver : {"duration_per_hour", "assisted", "per_stillborn", "placenta", "backfat", "hot_room",
                               "constipated", "moved_late"}) {
      const std::string path = std::string("sow.post_partum_disorder.risk.") + driver;
      values.emplace_back(path, driver == std::string(cause.driver) && with ? cause.weight : 0);
    }
    values.insert(values.end(), cause.values.begin(), cause.values.end());
    Patient farm("room: {crates: 1, drinker_blockages: off}\nclimate: {kind: imposed, temperature: " + cause.room +
                     "}\nattendance: {kind: none}\ncare: {checks: [], treat: false}\n"
                     "herd: {mortality: off, every_sow: {parity: 3, total_born: 12, farrows_on_day: 4" +
                     cause.sow + "}}\n",
                 values, Time{});
    farm.run_until(farm.sow().traits.onset);
    cause.change(farm.sow());
    farm.run_until(Time{} + 8_d);
    return farm.health().fell_ill.has_value();
  };
  const Values late_placenta = {{"sow.placenta.expulsion_median", 5000}, {"sow.placenta.expulsion_sd", 0}};
  const Values retained = {{"sow.placenta.expulsion_median", 10},
                           {"sow.placenta.expulsion_sd", 0},
                           {"sow.placenta.retention_intercept", 40}};
  const std::vector<Cause> causes = {
      {"duration_per_hour", 1e4, nothing, "", "20", {{"sow.post_partum_disorder.risk.duration_centre", 0}}},
      {"assisted", 80, [](Sow& sow) { sow.labour.assisted = true; }},
      {"per_stillborn", 80, [](Sow& sow) { sow.litter.stillborn = 1; }},
      {"placenta", 80, nothing, "", "20", late_placenta},
      {"placenta", 80, nothing, "", "20", retained},
      {"backfat", 80, nothing, ", backfat: 30 mm"},
      {"hot_room", 80, nothing, "", "32"},
      {"moved_late", 80, nothing, "", "20", {{"sow.post_partum_disorder.risk.moved_late_within", 6}}},
  };
  for (const Cause& cause : causes) {
    EXPECT_TRUE(falls_ill(cause, true)) << cause.driver;
    EXPECT_FALSE(falls_ill(cause, false)) << "without " << cause.driver;
  }
  EXPECT_FALSE(falls_ill({"assisted", 80, nothing}, true));
  EXPECT_FALSE(falls_ill({"per_stillborn", 80, nothing}, true));
  EXPECT_FALSE(falls_ill({"placenta", 80, nothing, "", "20", placenta_out}, true));
  EXPECT_FALSE(falls_ill({"backfat", 80, nothing, ", backfat: 12 mm"}, true));
  EXPECT_FALSE(falls_ill({"hot_room", 80, nothing}, true));
  EXPECT_FALSE(
      falls_ill({"moved_late", 80, nothing, "", "20", {{"sow.post_partum_disorder.risk.moved_late_within", 2}}}, true));
}

TEST(Treatment, NotesTheFirstAfterFarrowingOnly) {
  Patient farm(one_sow("{kind: by_signs, checks: []}"));
  treat(farm.room(), farm.sow());
  farm.run_until(noon + 1_h);
  treat(farm.room(), farm.sow());
  EXPECT_EQ(farm.health().first_treated, noon);
  EXPECT_EQ(farm.count(EventKind::sow_treated), 2);
  Patient unborn(one_sow("{kind: by_signs, checks: []}"), never_ill, Time{} + 2_d);
  treat(unborn.room(), unborn.sow());
  EXPECT_FALSE(unborn.health().first_treated);
}

TEST(Treatment, OfALameSowIsFollowedByRecoveryIfSheWasSeenLame) {
  const auto recovered = [](bool seen) {
    Patient farm(one_sow("{kind: by_signs, checks: []}"), {{"sow.post_partum_disorder.risk.intercept", -40},
                                                           {"sow.legs.prevalence", 1},
                                                           {"sow.legs.recovery_treated", 1000},
                                                           {"sow.sow_loss.death_in_room", 0}});
    EXPECT_TRUE(farm.sow().lame());
    const double lame_kg = farm.sow().feeding.appetite_kg;
    farm.health().seen_lame = seen;
    treat(farm.room(), farm.sow());
    EXPECT_EQ(farm.health().legs_treated, seen);
    farm.run_until(noon + 2_h);
    EXPECT_EQ(farm.sow().feeding.appetite_kg > lame_kg, seen);
    return !farm.sow().lame();
  };
  EXPECT_TRUE(recovered(true));
  EXPECT_FALSE(recovered(false));
}

// A sow that stands wrong, or seems to: the sign is found if it is looked for, and noted once.
const Values shows_every_sign = {{"sow.post_partum_disorder.risk.intercept", -40},
                                 {"sow.legs.prevalence", 0},
                                 {"sow.signs.nursing_specificity", 0},
                                 {"sow.signs.udder_specificity", 0},
                                 {"sow.signs.legs_specificity", 0},
                                 {"sow.signs.not_eaten_or_drunk_sensitivity", 1}};
const Values shows_no_sign = {{"sow.post_partum_disorder.risk.intercept", -40},
                              {"sow.legs.prevalence", 0},
                              {"sow.signs.nursing_specificity", 1},
                              {"sow.signs.udder_specificity", 1},
                              {"sow.signs.legs_specificity", 1},
                              {"sow.signs.eaten_sd", 0},
                              {"sow.signs.drunk_sd", 0}};

TEST(Look, FindsTheSignsThatAreLookedFor) {
  Patient farm(one_sow("{kind: by_signs, checks: [nursing, legs], until_day: 14, treat: false}"), shows_every_sign);
  farm.forget_signs();
  const int before = farm.count(EventKind::sign_found);
  look_for_signs(farm.room(), farm.sow());
  SignSet expected;
  expected.set(static_cast<std::size_t>(Sign::nursing)).set(static_cast<std::size_t>(Sign::legs));
  EXPECT_EQ(farm.health().signs, expected);
  EXPECT_EQ(farm.count(EventKind::sign_found), before + 2);
  EXPECT_EQ(farm.events().back().what, EventKind::sign_found);
  EXPECT_EQ(farm.events().back().amount, static_cast<double>(Sign::legs));
  EXPECT_EQ(farm.events().back().piglet, -1) << "it is the sow's";
  EXPECT_EQ(farm.health().first_sign, noon);
  EXPECT_TRUE(farm.health().seen_lame);
  farm.run_until(noon + 1_h);
  look_for_signs(farm.room(), farm.sow());
  EXPECT_EQ(farm.health().first_sign, noon);
  EXPECT_EQ(farm.count(EventKind::sign_found), before + 4);
}

TEST(Look, FindsNothingInASowThatShowsNothing) {
  Patient farm(one_sow("{kind: by_signs, checks: [nursing, udder, legs, not_eaten], until_day: 14}"), shows_no_sign);
  look_for_signs(farm.room(), farm.sow());
  EXPECT_TRUE(farm.health().signs.none());
  EXPECT_FALSE(farm.health().first_sign);
}

TEST(Look, FindsASowThatHasEatenNothing) {
  for (const double eaten_kg : {5.0, 0.0}) {
    Values values = shows_no_sign;
    values.emplace_back("sow.signs.not_eaten_or_drunk_sensitivity", 1);
    Patient farm(one_sow("{kind: by_signs, checks: [not_eaten], until_day: 14, signs_to_treat: 1}"), values);
    farm.sow().intake_seen = {
        .day = 8, .at = noon, .eaten_kg = eaten_kg, .expected_kg = 5, .drunk_l = 20, .expected_l = 20};
    look_for_signs(farm.room(), farm.sow());
    EXPECT_EQ(farm.health().signs.test(static_cast<std::size_t>(Sign::not_eaten)), eaten_kg == 0);
    EXPECT_EQ(farm.health().treatment_asked.has_value(), eaten_kg == 0);
  }
}

TEST(Look, SeesTheIntakeOfTheDayFirst) {
  Patient farm(one_sow("{kind: by_signs, checks: []}"), shows_no_sign);
  farm.sow().intake_seen.day = 7;
  look_for_signs(farm.room(), farm.sow());
  EXPECT_EQ(farm.sow().intake_seen.day, 8);
  farm.sow().intake_seen.day = 7;
  look_at_standing_sow(farm.room(), farm.sow());
  EXPECT_EQ(farm.sow().intake_seen.day, 8);
  farm.sow().intake_seen.day = 7;
  look_at_eating(farm.room(), farm.sow());
  EXPECT_EQ(farm.sow().intake_seen.day, 8);
}

TEST(Look, AtAStandingSowFindsItsLegsOnly) {
  Patient farm(one_sow("{kind: by_signs, checks: [nursing, legs], until_day: 14, treat: false}"), shows_every_sign);
  farm.forget_signs();
  look_at_standing_sow(farm.room(), farm.sow());
  EXPECT_EQ(farm.health().signs, SignSet().set(static_cast<std::size_t>(Sign::legs)));
  Patient not_looked_for(one_sow("{kind: by_signs, checks: [nursing], until_day: 14, treat: false}"), shows_every_sign);
  not_looked_for.forget_signs();
  look_at_standing_sow(not_looked_for.room(), not_looked_for.sow());
  EXPECT_TRUE(not_looked_for.health().signs.none());
}

TEST(Look, BeforeFarrowingIsAtEatingAlone) {
  Patient farm(one_sow("{kind: by_signs, checks: [nursing, legs], until_day: 14, treat: false}"), shows_every_sign,
               Time{} + 2_d);
  look_for_signs(farm.room(), farm.sow());
  look_at_standing_sow(farm.room(), farm.sow());
  EXPECT_TRUE(farm.health().signs.none());
  EXPECT_EQ(farm.sow().intake_seen.day, 2);
}

// A sow that eats nothing may have no water: the drinker is looked at once a day, if the policy means it.
TEST(Look, SuspectsTheDrinkerOfASowThatIsOffFeedOnceADay) {
  const std::string on_suspicion = "water: {kind: on_suspicion}\n";
  const auto checks = [&](const std::string& water, bool off_feed, int looks) {
    Values values = shows_no_sign;
    values.emplace_back("sow.signs.not_eaten_or_drunk_sensitivity", 1);
    Patient farm(one_sow("{kind: by_signs, checks: []}", water), values);
    farm.sow().water.drinker.looked_at = true;
    farm.sow().water.drinker_asked_day = -1;
    farm.sow().intake_seen = {
        .day = 8, .at = noon, .eaten_kg = off_feed ? 0.0 : 5.0, .expected_kg = 5, .drunk_l = 20, .expected_l = 20};
    for (int i = 0; i < looks; ++i) look_at_eating(farm.room(), farm.sow());
    return farm.sow().water.drinker_asked_day;
  };
  EXPECT_EQ(checks(on_suspicion, true, 1), 8);
  EXPECT_EQ(checks(on_suspicion, true, 2), 8);
  EXPECT_EQ(checks(on_suspicion, false, 1), -1);
  EXPECT_EQ(checks("water: {every: 0}\n", true, 1), -1) << "a policy that checks none";
}

TEST(Flag, IsToldAndSuspectsTheDrinker) {
  Patient farm(one_sow("{kind: by_signs, checks: []}", "water: {kind: on_suspicion}\n"), never_ill);
  farm.sow().water.drinker.looked_at = true;
  farm.sow().water.drinker_asked_day = 8;
  farm.sow().feeding.days_off_feed = 3;
  const int visits = farm.count(EventKind::sow_flagged);
  flag(farm.room(), farm.sow());
  EXPECT_EQ(farm.count(EventKind::sow_flagged), visits + 1);
  EXPECT_EQ(farm.events().back().amount, 3);
  farm.sow().water.drinker_asked_day = 7;
  flag(farm.room(), farm.sow());
  EXPECT_EQ(farm.sow().water.drinker_asked_day, 8) << "asked for today, as it was not yet";
}

TEST(EarlyWeaning, IsCalledForOnTheMorningOfTheLook) {
  for (const int days_off_feed : {1, 2}) {
    Patient farm(one_sow("{kind: by_signs, checks: [], wean_early: true, wean_from_day: 17, off_feed_days: 2}",
                         "group: {lactation_days: 28}\n"),
                 never_ill, Time{} + 21_d + 12_h);
    farm.sow().intake_seen = {.day = 21, .at = farm.room().now()};
    farm.sow().feeding.days_off_feed = days_off_feed;
    look_for_signs(farm.room(), farm.sow());
    farm.run_until(Time{} + 24_d);
    EXPECT_EQ(farm.sow().left.reached(), days_off_feed == 2);
  }
}

TEST(Walk, ToTheCrateShowsALameSowWhereThatIsLookedFor) {
  const auto seen = [](const std::string& care, const Values& values) {
    Patient farm(one_sow(care), values, Time{} + 1_d);
    farm.health().seen_lame = false;
    const int before = farm.count(EventKind::sign_found);
    see_her_walk(farm.room(), farm.sow());
    EXPECT_EQ(farm.count(EventKind::sign_found) - before, farm.health().seen_lame ? 1 : 0);
    return farm.health().seen_lame;
  };
  EXPECT_TRUE(seen("{kind: by_signs, legs_at_loading: true}", shows_every_sign));
  EXPECT_FALSE(seen("{kind: by_signs, legs_at_loading: true}", shows_no_sign));
  EXPECT_FALSE(seen("{kind: by_signs}", shows_every_sign));
}

TEST(Temperature, OfASowIsASignFromTheAlarmOn) {
  Patient farm(one_sow("{kind: by_signs, checks: [temperature], signs_to_treat: 1}"));
  take_temperature(farm.room(), farm.sow());
  const double reading_deg_c = *farm.health().rectal_temperature_deg_c;
  EXPECT_EQ(farm.events().back().what, EventKind::temperature_taken);
  EXPECT_EQ(farm.events().back().amount, reading_deg_c);
  const auto sign_at = [&](double alarm_deg_c) {
    class Alarm final : public CarePolicy {
     public:
      explicit Alarm(double deg_c) : deg_c_(deg_c) {}
      std::optional<Duration> temperature_after(const CareView&) const override { return {}; }
      std::optional<double> alarm_deg_c() const override { return deg_c_; }
      SignSet look_for(const CareView&) const override { return {}; }
      bool treat(const CareView&) const override { return false; }
      std::span<const Duration> stand_up_rounds() const override { return {}; }
      bool wean_today(const CareView&) const override { return false; }
      std::string describe() const override { return "an alarm"; }

     private:
      double deg_c_;
    };
    Patient again(one_sow("{kind: by_signs, checks: [temperature], signs_to_treat: 1}"));
    again.changeable_settings().care = std::make_shared<Alarm>(alarm_deg_c);
    take_temperature(again.room(), again.sow());
    EXPECT_EQ(again.health().rectal_temperature_deg_c, reading_deg_c);
    return again.health().signs.test(static_cast<std::size_t>(Sign::temperature));
  };
  EXPECT_TRUE(sign_at(reading_deg_c)) << "a reading at the alarm is a sign";
  EXPECT_FALSE(sign_at(reading_deg_c + 0.01));
}

TEST(Constipation, IsRelievedByStanding) {
  Patient farm(one_sow("{kind: by_signs, checks: []}"), never_ill);
  EXPECT_EQ(constipation_score(farm.room(), farm.sow()), farm.sow().traits.constipation_score);
  farm.sow().feeding.times_stood_up = 4;
  EXPECT_EQ(constipation_score(farm.room(), farm.sow()),
            farm.biology().standing_up.constipation_score(farm.sow().traits.constipation_score, 4));
}

}  // namespace
}  // namespace farrowtide
