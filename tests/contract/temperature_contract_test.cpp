// Rules that every temperature policy keeps, run over the whole catalogue. A policy without cases fails.
#include <gtest/gtest.h>

#include <map>

#include "libsim/policy/temperature/temperature.hpp"
#include "libsim/scenario/document.hpp"

namespace farrowtide {
namespace {

const std::map<std::string, std::vector<std::string>>& cases() {
  static const std::map<std::string, std::vector<std::string>> all = {
      {"schedule",
       {"{kind: schedule}", "{kind: schedule, farrowing: 74 degF, later: 66 degF, by_day: 10}",
        "{kind: schedule, farrowing: 20, later: 20, from_day: 0, by_day: 1}"}},
      {"constant", {"{kind: constant}", "{kind: constant, set_point: 18 degC}"}},
  };
  return all;
}

struct Reader {
  std::shared_ptr<const TemperaturePolicy> policy;
  static Reader read(Section& section) {
    Section temperature = section.section("temperature", "Temperature.");
    return {temperature.variants({.name = "kind", .standard = "schedule", .help = "How."}, temperature_catalogue())};
  }
};

std::shared_ptr<const TemperaturePolicy> policy_of(const std::string& yaml) {
  const Coefficients coefficients = Coefficients::built_in();
  return read_settings<Reader>(Document::from_text("temperature: " + yaml, "contract.yaml"), coefficients).policy;
}

template <class Check>
void for_every_policy(Check check) {
  for (const auto& entry : temperature_catalogue()) {
    ASSERT_TRUE(cases().contains(entry.name)) << "add cases for the policy '" << entry.name << "'";
    for (const std::string& yaml : cases().at(entry.name)) {
      SCOPED_TRACE(yaml);
      check(*policy_of(yaml));
    }
  }
}

TEST(TemperatureContract, SetPointsAreThoseOfAFarrowingRoom) {
  for_every_policy([](const TemperaturePolicy& policy) {
    for (int day = -10; day <= 40; ++day) {
      for (int hour = 0; hour < 24; ++hour) {
        const double set_point_deg_c = policy.set_point_deg_c({day, hour, false});
        EXPECT_GE(set_point_deg_c, 10) << "day " << day;
        EXPECT_LE(set_point_deg_c, 32) << "day " << day;
      }
    }
  });
}

TEST(TemperatureContract, ADeepPitNeverLowersTheSetPoint) {
  for_every_policy([](const TemperaturePolicy& policy) {
    for (int day = -4; day <= 28; ++day)
      EXPECT_GE(policy.set_point_deg_c({day, 12, true}), policy.set_point_deg_c({day, 12, false}));
  });
}

TEST(TemperatureContract, TheSameViewGetsTheSameSetPointAndASentence) {
  for_every_policy([](const TemperaturePolicy& policy) {
    EXPECT_EQ(policy.set_point_deg_c({3, 5, false}), policy.set_point_deg_c({3, 5, false}));
    EXPECT_GT(policy.describe().size(), 10u);
  });
}

// Common practice, no source: 72-74 degF (22.2-23.3 deg C) at farrowing, 66-68 degF (18.9-20.0) by day 7-10.
TEST(TemperatureSchedule, StandardIsTheTradesCurve) {
  const auto policy = policy_of("{kind: schedule}");
  EXPECT_GE(policy->set_point_deg_c({0, 0, false}), 22.2);
  EXPECT_LE(policy->set_point_deg_c({0, 0, false}), 23.3);
  EXPECT_GE(policy->set_point_deg_c({10, 0, false}), 18.9);
  EXPECT_LE(policy->set_point_deg_c({10, 0, false}), 20.0);
}

TEST(TemperatureSchedule, FallsEvenlyBetweenItsDays) {
  const auto policy = policy_of("{kind: schedule, farrowing: 23, later: 19, from_day: 2, by_day: 6}");
  const std::vector<std::pair<int, double>> curve = {{-3, 23}, {2, 23}, {3, 22}, {4, 21}, {5, 20}, {6, 19}, {20, 19}};
  for (const auto& [day, deg_c] : curve)
    EXPECT_NEAR(policy->set_point_deg_c({day, 0, false}), deg_c, 1e-12) << "day " << day;
}

}  // namespace
}  // namespace farrowtide
