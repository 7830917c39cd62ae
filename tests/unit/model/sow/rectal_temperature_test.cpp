#include "libsim/model/sow/rectal_temperature.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "libsim/kernel/random.hpp"
#include "libsim/model/sow/post_partum_disorder.hpp"

namespace farrowtide {
namespace {

const Coefficients& built_in() {
  static const Coefficients coefficients = Coefficients::built_in();
  return coefficients;
}

// A 60-sow study, J Anim Sci 1978: 39.1 a day before, 39.5 in the last 4 h, 39.7 at birth, 39.8 degC a day later; its
// level is higher than newer ones, so only its rise is used (fitted). Gourdine et al. 2007: +0.9 from d-3 to d7, level
// to d25, -0.6 from d25 to d32 (fitted), +-0.2.
TEST(RectalTemperature, RisesRoundFarrowingAndFallsInTheFourthWeek) {
  const RectalTemperature temperature{built_in()};
  struct Row {
    double from_h, until_h, rise_k;
  };
  for (const auto& [from_h, until_h, rise_k] :
       {Row{-24, -4, .4}, Row{-24, 0, .6}, Row{-24, 24, .7}, Row{-72, 7 * 24, .9}, Row{7 * 24, 25 * 24, 0},
        Row{25 * 24, 32 * 24, -.6}})
    EXPECT_NEAR(temperature.rise_k(until_h) - temperature.rise_k(from_h), rise_k, 0.2) << until_h << " h";
}

TEST(RectalTemperature, FallsBackToLateGestationAndNoFurther) {
  const RectalTemperature temperature{built_in()};
  EXPECT_EQ(temperature.rise_k(-100), 0);
  EXPECT_EQ(temperature.rise_k(60 * 24), 0);
  for (double day = 25; day < 60; ++day) {
    EXPECT_LE(temperature.rise_k((day + 1) * 24), temperature.rise_k(day * 24));
    EXPECT_GE(temperature.rise_k(day * 24), 0);
  }
}

// Published means at the end of farrowing: 38.5 (1,005 sows, USA) and 39.7 degC (60 sows, 1978), so far apart that the
// model is only held between them. Gourdine et al. 2007: primiparous 0.2 above multiparous (restated); +0.3 over 1.9 K
// of room temperature, above the assumed slope.
TEST(RectalTemperature, LiesBetweenThePublishedLevels) {
  const RectalTemperature temperature{built_in()};
  const RectalTemperatureInputs at_end{.since_farrowing_h = 0};
  EXPECT_GT(temperature(at_end), 38.5);
  EXPECT_LT(temperature(at_end), 39.7);
  EXPECT_NEAR(temperature({.since_farrowing_h = 0, .parity = 1}) - temperature(at_end), 0.2, 0.1);
  const double hot_k = temperature({.room_deg_c = 28.4}) - temperature({.room_deg_c = 26.5});
  EXPECT_GT(hot_k, 0);
  EXPECT_LE(hot_k, 0.3);
  EXPECT_EQ(temperature({.room_deg_c = 18}), temperature({.room_deg_c = 23}));
}

// Stiehler et al. 2015, d0-6: least 39.0 +- 0.5 at 05-06 h, most 39.4 +- 0.5 degC at 13-19 h, vaginal. The swing and
// the spread are entered (restated). The level comes out 0.24 K higher, 0.2 allowed: a miss that stands, since other
// records lie higher still.
TEST(RectalTemperature, SwingsOverTheDayAndSpreadsAsPublished) {
  const RectalTemperature temperature{built_in()};
  EXPECT_NEAR(temperature({.clock_hour = 16}) - temperature({.clock_hour = 5.5}), 0.4, 0.05);
  double least = 99, least_hour = 0;
  for (double hour = 0; hour < 24; hour += 0.5)
    if (temperature({.clock_hour = hour}) < least) least = temperature({.clock_hour = hour}), least_hour = hour;
  EXPECT_NEAR(least_hour, 5, 1.01);
  const double plain = temperature({});
  const double own = std::hypot(temperature({.sow_z = 1}) - plain, temperature({.start_z = 1}) - plain);
  EXPECT_NEAR(std::hypot(own, temperature({.measurement_z = 1}) - plain), 0.5, 0.01);
  EXPECT_LT(temperature({.start_z = 1}), plain) << "her litter starts well (sign Thompson & Fraser 1988)";
}

TEST(RectalTemperature, RisesWithTheSeverityOfIllness) {
  const RectalTemperature temperature{built_in()};
  EXPECT_GT(temperature({.severity = 0.2}), temperature({}));
  EXPECT_NEAR(temperature({.severity = 2}) - temperature({}), 2 * (temperature({.severity = 1}) - temperature({})),
              1e-12);
}

// Alarms of a check: of the sows that get the disorder the part found while ill, and of the alarms the part in sows
// that are ill then, or that are ill then or get it later.
struct CheckResult {
  double found = 0, ill_now = 0, ill_at_all = 0, false_alarms = 0;
};

struct CheckedSow {
  bool gets_ill = false, ill_now = false;
  RectalTemperatureInputs inputs;
};

// 13 % of sows get ill; births fall at any hour, the check waits for the working day, 07-16 h.
CheckedSow checked_sow(std::uint32_t sow, double due_h) {
  const auto key = [sow](std::uint32_t purpose) {
    return StreamKey{.seed = 2015, .replicate = 0, .entity = sow, .purpose = purpose};
  };
  const DisorderCourse course{built_in()};
  const double due_hour = std::fmod(24 * uniform(key(1)) + due_h, 24);
  const double wait_h = due_hour < 7 ? 7 - due_hour : due_hour >= 16 ? 31 - due_hour : 0;
  const double onset_h = course.onset_h(normal(key(2)));
  const double over_h = onset_h + 24 * exponential(key(3)) / course.recovery_per_day(Treatment::none);
  CheckedSow checked;
  checked.inputs = {.since_farrowing_h = due_h + wait_h,
                    .clock_hour = std::fmod(due_hour + wait_h, 24),
                    .parity = uniform(key(4)) < 0.226 ? 1 : 3,
                    .sow_z = normal(key(5)),
                    .measurement_z = normal(key(6))};
  checked.gets_ill = uniform(key(7)) < 0.13;
  checked.ill_now =
      checked.gets_ill && onset_h < checked.inputs.since_farrowing_h && checked.inputs.since_farrowing_h < over_h;
  if (checked.ill_now) checked.inputs.severity = IllnessSeverity{built_in()}(normal(key(8)));
  return checked;
}

CheckResult check(double alarm_deg_c) {
  const RectalTemperature temperature{built_in()};
  double ill = 0, alarms = 0, found = 0, found_or_later = 0;
  constexpr int sows = 40'000;
  for (std::uint32_t i = 0; i < sows; ++i) {
    const CheckedSow sow = checked_sow(i, temperature.check_at_h());
    const bool alarm = temperature(sow.inputs) > alarm_deg_c;
    ill += sow.gets_ill;
    alarms += alarm;
    found += alarm && sow.ill_now;
    found_or_later += alarm && sow.gets_ill;
  }
  return {found / ill, found / alarms, found_or_later / alarms, (alarms - found_or_later) / (sows - ill)};
}

// A check 24 h after farrowing finds a third to a half of the sows with a disorder, and about one alarm in five is of
// such a sow, but only one in seven of a sow that is ill already (computed from the published means and spread;
// fitted). False alarms of healthy sows: 27 % at a mean of 39.2, 42 % at 39.4 degC, SD 0.5 (closed form).
TEST(RectalTemperature, CheckFindsAThirdToAHalfAndIsRightOneTimeInFive) {
  const CheckResult result = check(RectalTemperature{built_in()}.alarm_deg_c());
  EXPECT_GT(result.found, 1.0 / 3);
  EXPECT_LT(result.found, 1.0 / 2);
  EXPECT_NEAR(result.ill_at_all, 0.20, 0.05);
  EXPECT_NEAR(result.ill_now, 1.0 / 7, 0.03);
  EXPECT_GT(result.false_alarms, 0.27);
  EXPECT_LT(result.false_alarms, 0.42);
}

// Fever rules in use run from 39.4 to 40 degC: a higher alarm finds fewer and is right more often.
TEST(RectalTemperature, HigherAlarmFindsFewerAndIsRightMoreOften) {
  const CheckResult low = check(39.5), high = check(40);
  EXPECT_LT(high.found, low.found);
  EXPECT_GT(high.ill_now, low.ill_now);
  EXPECT_LT(high.false_alarms, low.false_alarms);
}

}  // namespace
}  // namespace farrowtide
