// What policies are told: every number of a view is what the room holds at that moment, not more.
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <map>
#include <memory>
#include <utility>

#include "libsim/model/attending.hpp"
#include "libsim/model/drinking.hpp"
#include "libsim/model/fostering.hpp"
#include "libsim/model/recovering.hpp"
#include "libsim/model/troughs.hpp"
#include "tests/unit/model/simulated_farm.hpp"

namespace farrowtide {
namespace {

constexpr Time noon = Time{} + 8_d + 12_h;

std::string sows(int crates, int farrow_on_day = 2, int parity = 3) {
  return "room: {crates: " + std::to_string(crates) +
         ", drinker_blockages: off}\nclimate: {kind: imposed, temperature: 20}\nherd: {health: off, mortality: off, "
         "every_sow: {backfat: 17 mm, total_born: 12, parity: " +
         std::to_string(parity) + ", farrows_on_day: " + std::to_string(farrow_on_day) + "}}\n";
}

class ShownLabour final : public AttendancePolicy {
 public:
  std::optional<Duration> round_every() const override { return 30_min; }
  bool look_at(const LabourView&) const override { return false; }
  bool help(const LabourView& view) const override {
    last = view;
    return view.parity == 3;
  }
  int night_people() const override { return 0; }
  double care_intensity() const override { return 0; }
  std::string describe() const override { return "sees labours"; }
  mutable LabourView last;
};

TEST(LabourView, CountsBirthsAndExamsAndTheMinutesSince) {
  PausedFarm farm(sows(1, 9), noon);
  const auto policy = std::make_shared<ShownLabour>();
  farm.changeable_settings().attendance = policy;
  Sow& sow = farm.sow();
  farm.run_until(sow.traits.onset + 60_min);
  ASSERT_TRUE(sow.in_labour(farm.room().now()));
  sow.labour.births = 5;
  sow.labour.exams = 2;
  sow.labour.last_birth = sow.traits.onset + 10_min;
  sow.labour.last_look.reset();
  EXPECT_TRUE(needs_exam(farm.room(), sow));
  EXPECT_EQ(policy->last.births, 5);
  EXPECT_EQ(policy->last.exams, 2);
  EXPECT_EQ(policy->last.parity, 3);
  EXPECT_EQ(policy->last.since_first_birth_min, 60);
  EXPECT_EQ(policy->last.since_last_birth_min, 50);
  EXPECT_FALSE(policy->last.since_last_look_min);
  sow.labour.last_look = farm.room().now() - 25_min;
  EXPECT_TRUE(needs_exam(farm.room(), sow));
  EXPECT_EQ(policy->last.since_last_look_min, 25);
  farm.run_until(sow.traits.onset + 2_d);
  policy->last.births = -1;
  EXPECT_FALSE(needs_exam(farm.room(), sow)) << "she has farrowed";
  EXPECT_EQ(policy->last.births, -1) << "and nobody asks";
}

class ShownSow final : public CarePolicy {
 public:
  std::optional<Duration> temperature_after(const CareView&) const override { return {}; }
  SignSet look_for(const CareView& view) const override {
    last = view;
    return {};
  }
  bool treat(const CareView& view) const override {
    last = view;
    return true;
  }
  std::span<const Duration> stand_up_rounds() const override { return {}; }
  bool stands_up(const CareView& view) const override {
    last = view;
    return view.parity == 3;
  }
  bool wean_today(const CareView&) const override { return false; }
  std::string describe() const override { return "sees sows"; }
  mutable CareView last;
};

TEST(CareView, TellsWhatStaffKnowOfASowThatHasFarrowed) {
  PausedFarm farm(sows(1), noon, {{"sow.signs.not_eaten_or_drunk_sensitivity", 1}});
  const auto policy = std::make_shared<ShownSow>();
  farm.changeable_settings().care = policy;
  Sow& sow = farm.sow();
  const int births_and_deaths = sow.litter.nursing() + sow.litter.stillborn;
  EXPECT_EQ(births_and_deaths, 12);
  sow.labour.assisted = true;
  sow.litter.stillborn = 2;
  sow.health.signs.set(static_cast<std::size_t>(Sign::udder));
  sow.health.seen_lame = true;
  sow.health.rectal_temperature_deg_c = 39.5;
  sow.feeding.days_off_feed = 3;
  sow.intake_seen = {
      .day = 8, .at = noon, .in_trough_g = 1500, .eaten_kg = 4, .expected_kg = 5, .drunk_l = 16, .expected_l = 20};
  EXPECT_TRUE(is_made_to_stand(farm.room(), sow));
  const CareView& view = policy->last;
  EXPECT_EQ(view.parity, 3);
  EXPECT_EQ(view.lactation_day, 8 - sow.labour.last_birth.day());
  EXPECT_EQ(view.piglets, sow.litter.nursing());
  EXPECT_EQ(view.since_farrowing_h, (noon - sow.labour.last_birth).hours());
  EXPECT_EQ(view.farrowing_duration_min, (sow.labour.last_birth - sow.traits.onset).minutes());
  EXPECT_TRUE(view.assisted);
  EXPECT_EQ(view.stillborn, 2);
  EXPECT_EQ(view.seen, SignSet().set(static_cast<std::size_t>(Sign::udder)));
  EXPECT_EQ(view.eaten_kg, 4);
  EXPECT_EQ(view.expected_kg, 5);
  EXPECT_EQ(view.drunk_l, 16);
  EXPECT_EQ(view.expected_l, 20);
  EXPECT_EQ(view.trough_left_kg, 1.5);
  EXPECT_EQ(view.days_off_feed, 3);
  EXPECT_TRUE(view.seen_lame);
  EXPECT_EQ(view.rectal_deg_c, 39.5);
  EXPECT_FALSE(view.off_feed_or_water);
  EXPECT_FALSE(view.since_treatment_h);
  sow.health.treatment_asked = noon - 5_h;
  sow.intake_seen.eaten_kg = 1;
  is_made_to_stand(farm.room(), sow);
  EXPECT_EQ(view.since_treatment_h, 5);
  EXPECT_TRUE(view.off_feed_or_water);
  sow.intake_seen.eaten_kg = 4;
  sow.water.drinker.open_share = 0;
  is_made_to_stand(farm.room(), sow);
  EXPECT_TRUE(view.off_feed_or_water) << "a dry drinker is seen";
}

TEST(CareView, CountsDaysToFarrowingAndNoHoursBeforeIt) {
  PausedFarm farm(sows(1, 12), noon);
  const auto policy = std::make_shared<ShownSow>();
  farm.changeable_settings().care = policy;
  is_made_to_stand(farm.room(), farm.sow());
  EXPECT_EQ(policy->last.lactation_day, -4);
  EXPECT_EQ(policy->last.since_farrowing_h, 0);
  EXPECT_EQ(policy->last.farrowing_duration_min, 0);
}

TEST(CareView, NamesTheSignJustFoundAndNoneAfterAReadingBelowTheAlarm) {
  PausedFarm farm(sows(1), noon);
  const auto policy = std::make_shared<ShownSow>();
  farm.changeable_settings().care = policy;
  const double alarm_deg_c = farm.biology().rectal_temperature.alarm_deg_c();
  take_temperature(farm.room(), farm.sow());
  ASSERT_TRUE(policy->last.rectal_deg_c);
  EXPECT_LT(*policy->last.rectal_deg_c, alarm_deg_c) << "a healthy sow";
  EXPECT_FALSE(policy->last.just_found);
  EXPECT_EQ(farm.sow().health.treatment_asked, noon) << "this policy treats everyone";
  farm.sow().health.fell_ill = noon - 1_h;
  farm.sow().health.severity = 5;
  take_temperature(farm.room(), farm.sow());
  EXPECT_GE(*policy->last.rectal_deg_c, alarm_deg_c);
  EXPECT_EQ(policy->last.just_found, Sign::temperature);
  EXPECT_EQ(policy->last.seen, SignSet().set(static_cast<std::size_t>(Sign::temperature)));
}

class ShownTrough final : public FeedingPolicy {
 public:
  std::span<const Duration> rounds() const override { return {}; }
  std::span<const Duration> pre_farrow_rounds() const override { return {}; }
  std::optional<FeedingDecision> decide(const FeedingView& view) const override {
    last = view;
    return {};
  }
  std::optional<TroughDecision> at_trough_check(const TroughView& view) const override {
    at_check = view;
    return decision;
  }
  bool removes_stale_feed() const override { return false; }
  bool wet() const override { return false; }
  std::string describe() const override { return "sees troughs"; }
  std::optional<TroughDecision> decision;
  mutable FeedingView last;
  mutable TroughView at_check;
};

TEST(FeedingView, TellsWhatIsInTheTroughAndWhatSheIsAllowed) {
  PausedFarm farm(sows(1), noon);
  const auto policy = std::make_shared<ShownTrough>();
  farm.changeable_settings().feeding = policy;
  Sow& sow = farm.sow();
  sow.feeding.own_allowance_kg_per_day = 6.5;
  sow.feeding.own_allowance_day = 3;
  feed(farm.room(), sow, 13_h);
  const FeedingView& view = policy->last;
  EXPECT_EQ(view.parity, 3);
  EXPECT_TRUE(view.farrowed);
  EXPECT_EQ(view.day, 8 - sow.labour.last_birth.day());
  EXPECT_EQ(view.round, 13_h);
  EXPECT_EQ(view.backfat_mm, 17);
  EXPECT_EQ(view.in_trough_kg, static_cast<double>(sow.feeding.trough.in_trough_g()) / 1000);
  EXPECT_EQ(view.own_allowance_kg_per_day, 6.5);
  EXPECT_EQ(view.own_allowance_day, 3);
  PausedFarm unborn(sows(1, 12), noon);
  unborn.changeable_settings().feeding = policy;
  feed(unborn.room(), unborn.sow(), 13_h);
  EXPECT_FALSE(view.farrowed);
  EXPECT_EQ(view.day, 8 - unborn.sow().traits.due_day) << "days to her due date";
}

TEST(TroughView, TellsWhatWasOfferedSinceTheLastReadingAndWhatIsLeft) {
  PausedFarm farm(sows(1), noon);
  const auto policy = std::make_shared<ShownTrough>();
  policy->decision = TroughDecision{.allowance_kg_per_day = 7};
  farm.changeable_settings().feeding = policy;
  Sow& sow = farm.sow();
  const int today = sow.lactation_day(8);
  sow.feeding.trough_reading = {.day = 7, .offered_before_g = sow.feeding.trough.offered_g() - 4200};
  sow.feeding.own_allowance_kg_per_day = 6.5;
  sow.feeding.own_allowance_day = 3;
  check_trough(farm.room(), sow);
  const TroughView& view = policy->at_check;
  EXPECT_EQ(view.parity, 3);
  EXPECT_EQ(view.day, today);
  EXPECT_NEAR(view.offered_kg, 4.2, 1e-12);
  EXPECT_EQ(view.left_kg, static_cast<double>(sow.feeding.trough.in_trough_g()) / 1000);
  EXPECT_EQ(view.own_allowance_kg_per_day, 6.5);
  EXPECT_EQ(view.own_allowance_day, 3);
  EXPECT_EQ(sow.feeding.own_allowance_kg_per_day, 7) << "from now on";
  EXPECT_EQ(sow.feeding.own_allowance_day, today);
  policy->decision = TroughDecision{};
  check_trough(farm.room(), sow);
  EXPECT_NEAR(view.offered_kg, 4.2, 1e-12) << "the reading of the day, however often it is checked";
  EXPECT_EQ(sow.feeding.own_allowance_kg_per_day, 7) << "nothing new was decided";
  EXPECT_EQ(sow.feeding.mornings_at_check.read, 2);
}

// A third of what was offered is left in between; 40 % or more counts as untouched, a trace as empty.
TEST(TroughMornings, AreEmptyUntouchedOrNeitherByTheShareThatIsLeft) {
  const auto state_of = [](double offered_share_of_left) {
    PausedFarm farm(sows(1) + "feeding: {kind: hand}\n", Time{} + 8_d + 15_h + 30_min);
    const auto policy = std::make_shared<ShownTrough>();
    farm.changeable_settings().feeding = policy;
    Trough& trough = farm.sow().feeding.trough;
    trough.clean(farm.room().now());
    trough.deliver(farm.room().now(), 1000, FeedForm::dry, 20);
    const auto left_g = static_cast<double>(trough.in_trough_g());
    farm.sow().feeding.trough_reading = {
        .day = 7, .offered_before_g = trough.offered_g() - std::llround(left_g * offered_share_of_left)};
    feed(farm.room(), farm.sow(), 16_h);
    return farm.sow().feeding.trough_reading.state;
  };
  EXPECT_EQ(state_of(1), TroughState::untouched);
  EXPECT_EQ(state_of(2.49), TroughState::untouched);
  EXPECT_EQ(state_of(2.51), TroughState::in_between);
  EXPECT_EQ(state_of(1000), TroughState::empty);
  EXPECT_EQ(state_of(0), TroughState::unknown) << "nothing was offered";
}

class ShownDrinker final : public WaterPolicy {
 public:
  bool check(const DrinkerView& view) const override {
    last = view;
    return true;
  }
  double action_limit_l_per_min() const override { return 0; }
  std::string describe() const override { return "sees drinkers"; }
  mutable DrinkerView last;
};

TEST(DrinkerView, NamesTheCrateAndTheDayOfTheGroup) {
  PausedFarm farm("farm: {groups: 2, group_every: 28, rooms: 2, warm_up_groups: 5}\n" + sows(4), Time{} + 28_d * 2);
  const auto policy = std::make_shared<ShownDrinker>();
  farm.changeable_settings().water = policy;
  const auto seen = [&](Sow& sow, Suspicion suspicion) {
    EXPECT_TRUE(is_drinker_due(farm.room(), sow, suspicion));
    return policy->last;
  };
  const DrinkerView third = seen(farm.sow(3), Suspicion::none);
  EXPECT_EQ(third.day, 56);
  EXPECT_EQ(third.crate, 3);
  EXPECT_EQ(third.crates, 4);
  EXPECT_FALSE(third.sow_flagged);
  farm.sow(3).water.drinker.looked_at = true;
  const DrinkerView flagged = seen(farm.sow(3), Suspicion::of_the_drinker);
  EXPECT_TRUE(flagged.sow_flagged);
  EXPECT_TRUE(flagged.looked_at);
}

class ShownGilts final : public LoadingPolicy {
 public:
  int days_before_due() const override { return 4; }
  GiltPlaces gilt_places() const override { return GiltPlaces::side_by_side; }
  bool teach(const GiltView& view) const override {
    views.push_back(view);
    return view.times_taught < 2;
  }
  std::string describe() const override { return "sees gilts"; }
  mutable std::vector<GiltView> views;
};

TEST(GiltView, TellsWhatAFirstParitySowAteYesterdayAndHowOftenSheWasTaught) {
  const auto policy = std::make_shared<ShownGilts>();
  PolicyCatalogues catalogues = PolicyCatalogues::built_in();
  catalogues.loading.push_back({"shown", "For a test.", [&](Section&) { return policy; }});
  const SimulatedFarm farm(sows(1, 6, 1) + "loading: {kind: shown}\nstaff: {shifts: [{people: 2}]}\n", 0, {},
                           catalogues);
  ASSERT_GT(policy->views.size(), 4u);
  EXPECT_EQ(policy->views.front().days_in_room, 0);
  EXPECT_EQ(policy->views.front().eaten_since_yesterday_kg, 0);
  const auto eaten_kg = farm.column(farm.tables().sow_days, "eaten_kg");
  for (const GiltView& view : policy->views) {
    if (view.days_in_room == 0) continue;
    EXPECT_EQ(view.eaten_since_yesterday_kg, eaten_kg.at(static_cast<std::size_t>(view.days_in_room - 1)));
    EXPECT_EQ(view.times_taught, view.days_in_room == 1 ? 1 : 2);
  }
  policy->views.clear();
  const SimulatedFarm older(sows(1, 6, 2) + "loading: {kind: shown}\n", 0, {}, catalogues);
  EXPECT_TRUE(policy->views.empty()) << "older sows are not asked about";
}

class ShownLitters final : public HandlingPolicy {
 public:
  double share_of_processing(const HandlingView& view) const override {
    views.push_back(view);
    return view.lactation_day == 2 ? 0.25 : view.lactation_day == 4 ? 0.75 : 0;
  }
  std::string describe() const override { return "sees litters"; }
  mutable std::vector<HandlingView> views;
};

TEST(HandlingView, IsAskedOfEveryLactationDayOnceAndItsSharesAreDone) {
  const auto policy = std::make_shared<ShownLitters>();
  PolicyCatalogues catalogues = PolicyCatalogues::built_in();
  catalogues.handling.push_back({"shown", "For a test.", [&](Section&) { return policy; }});
  const std::string everyday = "handling: {kind: shown}\nstaff: {shifts: [{people: 2}]}\n";
  const SimulatedFarm farm(sows(1) + everyday, 0, {}, catalogues);
  const double nursing = farm.column(farm.tables().sows, "born_alive").at(0);
  for (std::size_t i = 0; i < policy->views.size(); ++i) {
    EXPECT_EQ(policy->views[i].lactation_day, static_cast<int>(i) + 1);
    EXPECT_EQ(policy->views[i].piglets, nursing);
  }
  EXPECT_GE(policy->views.size(), 15u);
  const auto kind = farm.column(farm.tables().tasks, "kind"), minutes = farm.column(farm.tables().tasks, "minutes");
  std::vector<double> processed_min;
  for (std::size_t i = 0; i < kind.size(); ++i) {
    if (static_cast<TaskKind>(static_cast<int>(kind[i])) == TaskKind::processing && minutes[i] > 0)
      processed_min.push_back(minutes[i]);
  }
  ASSERT_EQ(processed_min.size(), 2u) << "a quarter on day 2, the rest on day 4";
  EXPECT_LT(processed_min[0], processed_min[1]);
}

class ShownRoom final : public FosteringPolicy {
 public:
  std::span<const Duration> times() const override { return {}; }
  FosteringPlan plan(const FosteringView& view) const override {
    last = view;
    return {};
  }
  int nurse_sows() const override { return 0; }
  std::string describe() const override { return "sees a room"; }
  mutable FosteringView last;
};

TEST(FosteringView, TellsOfEverySowThatHasFarrowedAndHerPigletsInOrderOfBirth) {
  PausedFarm farm(
      "room: {crates: 3}\nclimate: {kind: imposed}\nherd: {health: off, mortality: off, sows: "
      "[{total_born: 10, farrows_on_day: 2, functional_teats: 14}, {total_born: 11, farrows_on_day: 12}, "
      "{total_born: 12, farrows_on_day: 3, parity: 5}]}\n",
      noon);
  const auto policy = std::make_shared<ShownRoom>();
  farm.changeable_settings().fostering = policy;
  Sow &first = farm.sow(1), &third = farm.sow(3);
  first.litter.orphans_coming = 2;
  third.litter.sucklings.at(4)->scouring = true;
  third.litter.sucklings.at(3)->moves = 2;
  first.litter.sucklings.at(5)->moves = 1;
  third.health.treatment_asked = noon;
  foster(farm.room());
  const FosteringView& view = policy->last;
  ASSERT_EQ(view.litters.size(), 2u);
  const LitterView &one = view.litters[0], &three = view.litters[1];
  EXPECT_EQ(one.sow, 1);
  EXPECT_EQ(one.teats, 14);
  EXPECT_EQ(one.nursing, 12) << "two orphans are on their way";
  EXPECT_EQ(one.lactation_day, 8 - first.labour.last_birth.day());
  EXPECT_FALSE(one.scouring || one.sow_ill || one.brought_to_nurse);
  EXPECT_EQ(three.sow, 3);
  EXPECT_EQ(three.parity, 5);
  EXPECT_EQ(three.nursing, 12);
  EXPECT_EQ(three.since_farrowing_h, (noon - third.labour.last_birth).hours());
  EXPECT_NEAR(three.mean_kg, third.litter.weight_kg() / 12, 1e-12);
  EXPECT_TRUE(three.scouring);
  EXPECT_TRUE(three.sow_ill);
  EXPECT_EQ(view.born_alive, 22);
  EXPECT_EQ(view.moved, 2) << "each once, however often";
  ASSERT_EQ(view.piglets.size(), 22u);
  for (std::size_t i = 0; i < 22; ++i) {
    const Piglet& piglet = i < 10 ? first.litter.piglets.at(i) : third.litter.piglets.at(i - 10);
    EXPECT_EQ(view.piglets[i].litter, i < 10 ? 0 : 1);
    EXPECT_EQ(view.piglets[i].weight_kg, piglet.weight_kg);
    EXPECT_EQ(view.piglets[i].age_h, (noon - piglet.born).hours());
    EXPECT_EQ(view.piglets[i].moves, i == 13 ? 2 : i == 5 ? 1 : 0);
    EXPECT_EQ(view.piglets[i].scouring, i == 14);
  }
}

class ShownAir final : public TemperaturePolicy {
 public:
  double set_point_deg_c(const TemperatureView& view) const override {
    views.push_back(view);
    return 20;
  }
  std::string describe() const override { return "sees the air"; }
  mutable std::vector<TemperatureView> views;
};

TEST(TemperatureView, CountsDaysToTheDueDateAndKnowsTheWeatherOfYesterday) {
  const auto policy = std::make_shared<ShownAir>();
  PolicyCatalogues catalogues = PolicyCatalogues::built_in();
  catalogues.temperature.push_back({"shown", "For a test.", [&](Section&) { return policy; }});
  const SimulatedFarm farm(
      "room: {crates: 1, deep_pit: true}\nloading: {days_before_due: 4}\ntemperature: {kind: shown}\n", 0, {},
      catalogues);
  const auto outdoor = farm.column(farm.tables().room_hours, "outdoor_deg_c");
  std::vector<TemperatureView> views = policy->views;
  EXPECT_EQ(views.front().group_day, -4) << "when the room is set up, before the first hour";
  EXPECT_EQ(views.front().hour, 0);
  EXPECT_FALSE(views.front().outdoor_mean_deg_c);
  views.erase(views.begin());
  ASSERT_EQ(views.size(), outdoor.size());
  for (std::size_t i = 0; i < views.size(); ++i) {
    EXPECT_EQ(views[i].hour, static_cast<int>(i % 24));
    EXPECT_EQ(views[i].group_day, static_cast<int>(i / 24) - 4);
    EXPECT_TRUE(views[i].deep_pit);
    EXPECT_EQ(views[i].outdoor_mean_deg_c.has_value(), i >= 24);
    if (i < 24) continue;
    double sum = 0;
    for (std::size_t hour = i / 24 * 24 - 24; hour < i / 24 * 24; ++hour) sum += outdoor[hour];
    EXPECT_NEAR(*views[i].outdoor_mean_deg_c, sum / 24, 1e-9);
  }
}

}  // namespace
}  // namespace farrowtide
