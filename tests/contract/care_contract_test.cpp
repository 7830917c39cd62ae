// Rules that every care policy keeps, run over the whole catalogue. A policy without cases fails.
#include <algorithm>

#include "libsim/kernel/errors.hpp"
#include "libsim/policy/care/care.hpp"
#include "tests/contract/policy_family.hpp"

namespace farrowtide {
namespace {

const PolicyFamily<CarePolicy>& care() {
  static const PolicyFamily<CarePolicy> family{
      "by_signs",
      care_catalogue(),
      {{"by_signs",
        {"{kind: by_signs}", "{kind: by_signs, checks: []}", "{kind: by_signs, treat: false}",
         "{kind: by_signs, checks: [temperature, nursing, not_eaten, udder, legs], signs_to_treat: 1, until_day: 28}",
         "{kind: by_signs, whom: at_risk, after: 12 h, stand_up: [\"07:30\", \"14:00\"]}",
         "{kind: by_signs, wean_early: true, wean_from_day: 17, off_feed_days: 1}"}},
       {"by_temperature",
        {"{kind: by_temperature}", "{kind: by_temperature, alarm: 40 degC, checks: [legs], whom: at_risk}",
         "{kind: by_temperature, stand_up: [\"09:00\"], wean_early: true}"}},
       {"watch_only", {"{kind: watch_only}", "{kind: watch_only, checks: [udder], wean_early: true}"}}}};
  return family;
}

SignSet signs(std::initializer_list<Sign> list) {
  SignSet set;
  for (const Sign sign : list) set.set(static_cast<std::size_t>(sign));
  return set;
}

// Sows that differ in day, history and signs, each without a treatment so far.
std::vector<CareView> views() {
  std::vector<CareView> all;
  for (int day = 0; day <= 35; ++day) {
    for (unsigned seen = 0; seen < 1u << SignSet{}.size(); ++seen) {
      for (const bool hard_labour : {false, true}) {
        CareView view{.lactation_day = day, .piglets = 12, .since_farrowing_h = 24.0 * day + 10};
        view.farrowing_duration_min = hard_labour ? 420 : 180;
        view.assisted = hard_labour;
        view.seen = SignSet(seen);
        view.days_off_feed = day % 5;
        if (day > 0) view.rectal_deg_c = 38.5 + 0.5 * (day % 5);
        if (seen > 0) view.just_found = view.seen.test(0) ? Sign::temperature : Sign::legs;
        all.push_back(view);
      }
    }
  }
  return all;
}

TEST(CareContract, NeverTreatsTwiceWithinADay) {
  care().for_every([](const CarePolicy& policy) {
    for (CareView view : views()) {
      const bool treats = policy.treat(view);
      for (const double since_h : {0.0, 0.5, 12.0, 23.9}) {
        view.since_treatment_h = since_h;
        EXPECT_FALSE(policy.treat(view)) << since_h << " h";
      }
      view.since_treatment_h = 24;
      EXPECT_EQ(policy.treat(view), treats) << "a day later";
    }
  });
}

TEST(CareContract, NeverTreatsASowInWhichNothingIsWrong) {
  care().for_every([](const CarePolicy& policy) {
    EXPECT_FALSE(policy.treat({.lactation_day = 1, .rectal_deg_c = 38.4}));
    EXPECT_FALSE(policy.treat({.lactation_day = 1}));
  });
}

TEST(CareContract, WithMoreSignsASowIsNotTreatedLess) {
  care().for_every([](const CarePolicy& policy) {
    for (CareView view : views()) {
      const bool treats = policy.treat(view);
      for (std::size_t sign = 0; sign < SignSet{}.size(); ++sign) {
        CareView more = view;
        more.seen.set(sign);
        EXPECT_TRUE(policy.treat(more) || !treats);
      }
    }
  });
}

TEST(CareContract, LooksOnlyAtSowsThatFarrowedYesterdayOrBeforeAndNotForTheTemperature) {
  care().for_every([](const CarePolicy& policy) {
    for (const CareView& view : views()) {
      const SignSet looked_for = policy.look_for(view);
      EXPECT_FALSE(looked_for.test(static_cast<std::size_t>(Sign::temperature))) << "it has its own time";
      EXPECT_TRUE(view.lactation_day >= 1 || looked_for.none());
      EXPECT_EQ(policy.look_for(view), looked_for) << "the same view, another decision";
    }
  });
}

TEST(CareContract, WhoIsCheckedForOneThingIsCheckedForAll) {
  care().for_every([](const CarePolicy& policy) {
    const CareView easy{.lactation_day = 1, .farrowing_duration_min = 120};
    const CareView hard{.lactation_day = 1, .farrowing_duration_min = 500, .assisted = true, .stillborn = 4};
    EXPECT_TRUE(policy.temperature_after(hard) || !policy.temperature_after(easy)) << "risk does not spare her";
    EXPECT_TRUE((policy.look_for(easy) & ~policy.look_for(hard)).none());
    EXPECT_GT(policy.temperature_after(hard).value_or(1_h), 0_s);
  });
}

TEST(CareContract, StandUpTimesRiseWithinTheDay) {
  care().for_every([](const CarePolicy& policy) {
    const auto times = policy.stand_up_rounds();
    EXPECT_TRUE(std::ranges::is_sorted(times));
    EXPECT_EQ(std::ranges::adjacent_find(times), times.end()) << "a round twice";
    for (const Duration time : times) EXPECT_TRUE(0_h <= time && time < 24_h);
  });
}

// The youngest a litter can be weaned early; local law often asks for more.
TEST(CareContract, NeverWeansALitterBelowSeventeenDaysOrOfASowThatEats) {
  care().for_every([](const CarePolicy& policy) {
    for (CareView view : views()) {
      EXPECT_TRUE(view.lactation_day >= 17 || !policy.wean_today(view)) << view.lactation_day;
      view.days_off_feed = 0;
      EXPECT_FALSE(policy.wean_today(view)) << view.lactation_day;
    }
  });
}

TEST(CareContract, SaysWhatItDoes) {
  care().for_every([](const CarePolicy& policy) { EXPECT_GT(policy.describe().size(), 10u); });
  const auto says = [](const std::string& keys, const char* words) {
    return care().policy(keys)->describe().find(words) != std::string::npos;
  };
  EXPECT_TRUE(says("{kind: by_signs, checks: []}", "no sow checked"));
  EXPECT_TRUE(says("{kind: by_signs, checks: [nursing], whom: everyone}", "every sow checked for"));
  EXPECT_TRUE(says("{kind: by_signs, checks: [nursing], whom: at_risk}", "sows at risk checked for"));
  EXPECT_TRUE(says("{kind: by_signs, stand_up: [\"08:00\"]}", "; made to stand up once a day"));
  EXPECT_TRUE(says("{kind: by_signs, stand_up: [\"08:00\", \"14:00\"], stand_up_whom: first_parity}",
                   "; first parity made to stand up 2 times a day"));
  EXPECT_FALSE(says("{kind: by_signs}", "stand up"));
  EXPECT_FALSE(says("{kind: by_signs}", "weaned"));
  EXPECT_TRUE(says("{kind: by_signs, wean_early: true, wean_from_day: 19, off_feed_days: 3}",
                   "; weaned from day 19 after 3 mornings off feed;"));
  EXPECT_TRUE(says("{kind: by_signs, wean_early: true, wean_from_day: 19, off_feed_days: 3, wean_lame: true}",
                   "; weaned from day 19 after 3 mornings off feed or if lame;"));
}

TEST(CareContract, TreatmentHandlingAndEarlyWeaningComeWithTheCaution) {
  struct Row {
    const char *key, *caution;
  };
  for (const Row& row : {Row{"treat", "herd veterinarian"}, Row{"alarm", "herd veterinarian"}, Row{"after", "safely"},
                         Row{"stand_up", "safely"}, Row{"wean_early", "Local law sets the minimum age"},
                         Row{"wean_from_day", "Local law"}})
    EXPECT_NE(care().help(row.key).find(row.caution), std::string::npos) << row.key;
}

const Declaration& checks_of(const std::list<Declaration>& keys, const std::string& kind) {
  for (const Declaration& key : keys) {
    for (const auto& variant : key.variants) {
      const auto checks = std::ranges::find(variant.keys, "checks", &Declaration::name);
      if (variant.name == kind && checks != variant.keys.end()) return *checks;
    }
  }
  throw InternalError("no checks");
}

TEST(CareContract, ScenariosNameSignsAsTheirEnumDoes) {
  const auto& all = NameTable<Sign>::all;
  const Declaration declared = care().declared();
  EXPECT_EQ(checks_of(declared.keys.front().keys, "by_signs").options,
            std::vector<std::string>(all.begin(), all.end()));
  EXPECT_EQ(checks_of(declared.keys.front().keys, "by_temperature").options,
            std::vector<std::string>(all.begin() + 1, all.end()))
      << "the temperature is always taken";
}

// Common practice, no source: temperature 24 h after farrowing, other signs to day 3, two different signs for
// treatment.
TEST(BySigns, StandardIsTheTradesRule) {
  const auto policy = care().policy("{}");
  EXPECT_EQ(policy->temperature_after({}), 24_h);
  const SignSet both = signs({Sign::nursing, Sign::not_eaten});
  EXPECT_EQ(policy->look_for({.lactation_day = 1}), both);
  EXPECT_EQ(policy->look_for({.lactation_day = 3}), both);
  EXPECT_TRUE(policy->look_for({.lactation_day = 4}).none());
  EXPECT_TRUE(policy->stand_up_rounds().empty());
  EXPECT_FALSE(policy->wean_today({.lactation_day = 30, .days_off_feed = 9}));
}

TEST(BySigns, TreatsOnceEnoughDifferentSignsWereSeen) {
  const SignSet one = signs({Sign::nursing}), two = signs({Sign::nursing, Sign::udder});
  const auto treats = [](const char* keys, SignSet seen) {
    return care().policy(keys)->treat({.lactation_day = 2, .seen = seen, .just_found = Sign::nursing});
  };
  EXPECT_FALSE(treats("{}", one));
  EXPECT_TRUE(treats("{}", two));
  EXPECT_TRUE(treats("{signs_to_treat: 1}", one));
  EXPECT_FALSE(treats("{signs_to_treat: 3}", two));
  EXPECT_FALSE(treats("{treat: false}", two));
  EXPECT_FALSE(treats("{kind: watch_only}", two));
  EXPECT_FALSE(care().policy("{}")->treat({.lactation_day = 2, .seen = two, .rectal_deg_c = 38.5}))
      << "a normal temperature is no sign";
}

// 39.5 degC: Stiehler et al. 2015 and Gerjets & Kemper 2009, J Swine Health Prod.
TEST(ByTemperature, TreatsOnTheReadingAndOnNothingElse) {
  const auto policy = care().policy("{kind: by_temperature}");
  const SignSet all = SignSet().set();
  EXPECT_TRUE(policy->treat({.just_found = Sign::temperature, .rectal_deg_c = 39.5}));
  EXPECT_FALSE(policy->treat({.rectal_deg_c = 39.4}));
  EXPECT_FALSE(policy->treat({.seen = all, .just_found = Sign::udder, .rectal_deg_c = 41}))
      << "an old reading, a new sign";
  EXPECT_FALSE(policy->treat({.seen = all, .just_found = Sign::udder}));
  const auto lower = care().policy("{kind: by_temperature, alarm: 39 degC}");
  EXPECT_TRUE(lower->treat({.rectal_deg_c = 39.2})) << "below the usual alarm no sign is found, and she is treated";
  EXPECT_FALSE(care()
                   .policy("{kind: by_temperature, alarm: 40 degC}")
                   ->treat({.just_found = Sign::temperature, .rectal_deg_c = 39.7}));
  EXPECT_THROW(care().policy("{kind: by_temperature, checks: [temperature]}"), ScenarioError) << "it is always taken";
}

TEST(AtRisk, IsALongFarrowingHelpOrSeveralStillborn) {
  const auto policy = care().policy("{whom: at_risk}");
  const auto checked = [&](CareView view) {
    view.lactation_day = 1;
    EXPECT_EQ(policy->temperature_after(view).has_value(), policy->look_for(view).any());
    return policy->look_for(view).any();
  };
  EXPECT_FALSE(checked({.farrowing_duration_min = 299, .stillborn = 1}));
  EXPECT_TRUE(checked({.farrowing_duration_min = 300}));
  EXPECT_TRUE(checked({.farrowing_duration_min = 100, .assisted = true}));
  EXPECT_TRUE(checked({.farrowing_duration_min = 100, .stillborn = 2}));
}

TEST(EarlyWeaning, TakesBothTheDayAndTheMorningsOffFeed) {
  const auto policy = care().policy("{wean_early: true, wean_from_day: 19, off_feed_days: 3}");
  EXPECT_FALSE(policy->wean_today({.lactation_day = 18, .days_off_feed = 3}));
  EXPECT_FALSE(policy->wean_today({.lactation_day = 19, .days_off_feed = 2}));
  EXPECT_TRUE(policy->wean_today({.lactation_day = 19, .days_off_feed = 3}));
  EXPECT_THROW(care().policy("{wean_early: true, wean_from_day: 16}"), ScenarioError);
}

}  // namespace
}  // namespace farrowtide
